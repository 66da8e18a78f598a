// One queue per notifier, so that a dead server never delays what goes another way. Holds only what
// may be sent: waiting, committed, not held, not in flight. Pure bookkeeping.
#pragma once

#include <array>
#include <compare>
#include <cstddef>
#include <cstdint>
#include <deque>
#include <map>
#include <optional>
#include <string>

#include "core/limits.h"
#include "core/time.h"

namespace ebbwatch {

/// What goes first where both are due.
enum class Rank : std::uint8_t {
  alarm,   ///< Something has happened.
  chores,  ///< Exercises and digests, which never stand in the way of an alarm.
};
inline constexpr std::size_t rank_count = 2;

/// A place in a queue: by time, and for the same time in order of creation.
struct Place {
  WallTime at;
  std::uint64_t order = 0;
  Rank rank = Rank::alarm;
  friend constexpr auto operator<=>(const Place&, const Place&) = default;
};

/// How much one notifier may be given.
struct LaneLimits {
  std::size_t at_once = limits::notices_in_flight_per_notifier_max;
  /// Attempts begun within any minute; 0: no limit. Chores leave half of them (rounded up, but not
  /// the only one) to alarms that may come.
  std::size_t per_minute = 0;
};

class Lanes {
 public:
  /// From now on; what is in flight already goes on.
  void set_limits(const std::string& notifier, LaneLimits limits) {
    lanes_[notifier].limits = limits;
  }
  /// @pre no two notices have the same `order`.
  void queue(const std::string& notifier, Place place, const std::string& notice);
  void unqueue(const std::string& notifier, Place place);

  /// Takes the next notice that is due at `now` from a notifier with a free place, and counts it as
  /// in flight. Notifiers in alphabetical order, each by rank and then by due time.
  struct Taken {
    std::string notifier, notice;
  };
  std::optional<Taken> take(WallTime now);
  /// An attempt of this notifier has ended.
  void free_place(const std::string& notifier);

  /// When take() will give something; empty when every lane is empty or full.
  std::optional<WallTime> next_due() const;
  /// What waits to be sent; chores only from their time on: a digest of tomorrow is not late.
  std::size_t queued(const std::string& notifier, WallTime now) const;
  std::size_t in_flight(const std::string& notifier) const;

 private:
  struct Lane {
    std::array<std::map<Place, std::string>, rank_count> due;
    std::size_t in_flight = 0;
    LaneLimits limits;
    std::deque<WallTime> begun;  ///< Of the last minute, where that is limited.
  };
  static std::optional<WallTime> next_of(const Lane& lane, Rank rank);
  std::map<std::string, Lane> lanes_;
};

}  // namespace ebbwatch
