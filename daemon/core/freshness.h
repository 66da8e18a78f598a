// Whether a check-in is news: stale copies and duplicates are no contact, and a controller that
// started again begins to count anew. The part that an incarnation number plays elsewhere is played
// here by `uptime_s` beside `seq`.
#pragma once

#include <cstdint>
#include <optional>

#include "core/event.h"
#include "core/time.h"

namespace ebbwatch {

enum class Freshness : std::uint8_t {
  fresh,
  restarted,  ///< Fresh, and the controller started since the last one heard.
  stale,      ///< A copy or an old one: no contact.
};

/// The newest check-in heard of one controller, as far as it counts for freshness.
class Newest {
 public:
  /// @pre `at` is not before the previous call's.
  Freshness judge(const CheckIn& check_in, Instant at) const;
  /// Takes a check-in that was judged fresh or restarted.
  void take(const CheckIn& check_in, Instant at);
  /// Notes a stale one. A controller that began to count anew without telling its uptime shows by
  /// counting on: @return true when the third in a row, spaced like check-ins, continues the old
  /// count, so that it must be a restart after all. One whose uptime has grown faster than time is
  /// a copy from before the last start, unless the next one agrees with it; one whose uptime fell
  /// back too far for a restart is an old copy, unless the next two agree with it.
  bool take_stale(const CheckIn& check_in, Instant at, Span interval);

  /// By how much `seq` moved on with this fresh check-in; 0 when not known.
  std::int64_t sent_since(const CheckIn& check_in) const;
  std::optional<std::uint64_t> seq() const { return seq_; }
  std::optional<double> uptime_s() const { return uptime_s_; }
  Instant at() const { return at_; }
  void restore(std::optional<std::uint64_t> seq, std::optional<double> uptime_s, Instant at);

 private:
  bool runs_ahead(const CheckIn& check_in, Instant at) const;

  std::optional<std::uint64_t> seq_;
  std::optional<double> uptime_s_;
  Instant at_ = Instant::never();
  std::uint64_t stale_seq_ = 0;
  double stale_uptime_s_ = 0;
  Instant stale_at_;
  std::uint8_t stale_run_ = 0;
};

}  // namespace ebbwatch
