// The event stream (server-sent events, WHATWG HTML section 9.2) as text: numbers the changes,
// keeps the newest for pages that come back, and tells when a page has missed too much. Pure.
#pragma once

#include <cstdint>
#include <deque>
#include <optional>
#include <string>
#include <string_view>

namespace ebbwatch {

class EventFeed {
 public:
  /// @param run tells this process's numbers from those of an earlier one; without blanks.
  explicit EventFeed(std::string run) : run_(std::move(run)) {}

  /// @param name of the event. @param data text of any lines.
  void add(std::string_view name, std::string_view data);

  std::uint64_t newest() const { return newest_; }
  std::string newest_id() const { return id(newest_); }
  /// Everything after number `after` as it goes over the line, and moves `after` to the newest.
  /// When some of it is not kept any more: one event "reload", which asks the page to load itself
  /// again.
  std::string since(std::uint64_t& after) const;
  /// The number in a Last-Event-ID of ours; empty when it is from another run or no number.
  std::optional<std::uint64_t> parse_id(std::string_view last_event_id) const;

  /// A line that keeps the connection open and says nothing.
  static std::string heartbeat() { return ": still here\n\n"; }
  /// What a stream begins with: how soon to come back after a break, in milliseconds.
  /// @param seen the number that the page has.
  std::string opening(std::uint64_t seen) const;
  std::string opening() const { return opening(newest_); }
  std::string reload() const;

 private:
  std::string id(std::uint64_t number) const { return run_ + "-" + std::to_string(number); }
  struct Event {
    std::uint64_t number;
    std::string text;
  };
  std::string run_;
  std::uint64_t newest_ = 0;
  std::deque<Event> kept_;
};

}  // namespace ebbwatch
