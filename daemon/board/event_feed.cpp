#include "board/event_feed.h"

#include <charconv>

#include "core/limits.h"

namespace ebbwatch {

void EventFeed::add(std::string_view name, std::string_view data) {
  std::string text = "id: " + id(++newest_) + "\nevent: " + std::string(name) + "\n";
  for (;;) {
    const auto end = data.find('\n');
    text += "data: " + std::string(data.substr(0, end)) + "\n";
    if (end == std::string_view::npos) break;
    data.remove_prefix(end + 1);
  }
  kept_.push_back({newest_, text + "\n"});
  if (kept_.size() > limits::board_events_kept) kept_.pop_front();
}

std::string EventFeed::since(std::uint64_t& after) const {
  const auto from = after;
  after = newest_;
  if (from == newest_) return {};
  if (from > newest_ || kept_.empty() || kept_.front().number > from + 1) return reload();
  std::string out;
  for (const Event& event : kept_) {
    if (event.number > from) out += event.text;
  }
  return out;
}

std::optional<std::uint64_t> EventFeed::parse_id(std::string_view text) const {
  if (!text.starts_with(run_ + "-")) return std::nullopt;
  text.remove_prefix(run_.size() + 1);
  std::uint64_t number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return number;
}

std::string EventFeed::opening(std::uint64_t seen) const {
  return "retry: 2000\nid: " + id(seen) + "\n\n";
}

std::string EventFeed::reload() const {
  return "id: " + id(newest_) + "\nevent: reload\ndata: now\n\n";
}

}  // namespace ebbwatch
