#include "reporting/repeats.h"

#include <utility>

namespace ebbwatch {

Repeats::Seen Repeats::see(std::chrono::nanoseconds now, std::string_view event,
                           const std::string& text) {
  const auto found = last_.find(event);
  if (found == last_.end()) {
    if (last_.size() < events_max) last_.emplace(event, Last{text, now, 0});
    return {};
  }
  Last& last = found->second;
  const bool same = last.text == text;
  if (same && now - last.at < window && now >= last.at) {
    ++last.held_back;
    return {true, 0};
  }
  const Seen seen{false, std::exchange(last.held_back, 0)};
  last.text = text;
  last.at = now;
  return seen;
}

}  // namespace ebbwatch
