// One queue per notifier, so that a dead server never delays what goes another way. Holds only what
// may be sent: waiting, committed, not held, not in flight. Pure bookkeeping.
#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "core/time.h"

namespace ebbwatch {

class Lanes {
 public:
  void queue(const std::string& notifier, WallTime at, const std::string& notice);
  void unqueue(const std::string& notifier, WallTime at, const std::string& notice);

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
    std::set<std::pair<WallTime, std::string>> due;
    std::size_t in_flight = 0;
  };
  std::map<std::string, Lane> lanes_;
};

}  // namespace ebbwatch
