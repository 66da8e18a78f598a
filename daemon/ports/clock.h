// The two clocks of the daemon behind one port; only app/system_clock.* asks the operating system.
#pragma once

#include "core/time.h"

namespace ebbwatch {

class Clock {
 public:
  virtual ~Clock() = default;
  /// Never steps back, counts suspend.
  virtual Instant now() const = 0;
  virtual WallTime wall_now() const = 0;
  /// Conversions use the offset between the clocks at this moment.
  WallTime to_wall(Instant t) const { return wall_now() + (t - now()); }
  Instant to_instant(WallTime t) const { return now() + (t - wall_now()); }
};

}  // namespace ebbwatch
