// Notices when this process was not running on time: a suspended machine, a stopped process, a loop
// that hung. Pure: fed with readings, never asks. Silence in such a gap is ours, not a tank's.
#pragma once

#include <optional>

#include "core/time.h"

namespace ebbwatch {

class ClockGuard {
 public:
  /// The loop promises a turn at least this often; a turn later than promised by more than
  /// `lateness_max` is a gap.
  static constexpr Span turn_every = Span::of_s(10);
  static constexpr Span lateness_max = Span::of_s(2);
  /// A wall clock that moved by more against the steady one was set (chrony announces jumps of 10
  /// s).
  static constexpr Span wall_step_min = Span::of_s(10);

  ClockGuard(Instant now, WallTime wall);

  struct Observed {
    Span blind_for;                    ///< 0: on time.
    std::optional<Span> wall_stepped;  ///< The wall clock was set by so much.
  };
  /// One turn of the loop. Call it before any event of that turn is decided.
  Observed turn(Instant now, WallTime wall);

 private:
  Instant last_turn_;
  Span wall_offset_;
};

}  // namespace ebbwatch
