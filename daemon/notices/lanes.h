// One queue per notifier, so that a dead server never delays what goes another way. Holds only what
// may be sent: waiting, committed, not held, not in flight. Pure bookkeeping.
#pragma once

#include <compare>
#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>

#include "core/time.h"

namespace ebbwatch {

/// A place in a queue: by time, and for the same time in order of creation.
struct Place {
  WallTime at;
  std::uint64_t order = 0;
  friend constexpr auto operator<=>(const Place&, const Place&) = default;
};

class Lanes {
 public:
  /// @pre no two notices have the same `order`.
  void queue(const std::string& notifier, Place place, const std::string& notice);
  void unqueue(const std::string& notifier, Place place);

  /// Takes the next notice that is due at `now` from a notifier with a free place, and counts it as
  /// in flight. Notifiers in alphabetical order, each by due time.
  struct Taken {
    std::string notifier, notice;
  };
  std::optional<Taken> take(WallTime now);
  /// An attempt of this notifier has ended.
  void free_place(const std::string& notifier);

  /// When take() will give something; empty when every lane is empty or full.
  std::optional<WallTime> next_due() const;
  std::size_t queued(const std::string& notifier) const;
  std::size_t in_flight(const std::string& notifier) const;

 private:
  struct Lane {
    std::map<Place, std::string> due;
    std::size_t in_flight = 0;
  };
  std::map<std::string, Lane> lanes_;
};

}  // namespace ebbwatch
