#include "app/clock_guard.h"

namespace ebbwatch {

ClockGuard::ClockGuard(Instant now, WallTime wall)
    : last_turn_(now), wall_offset_{wall.us - now.us} {}

ClockGuard::Observed ClockGuard::turn(Instant now, WallTime wall) {
  Observed seen;
  const Span since_last = now - last_turn_;
  if (since_last > turn_every + lateness_max) seen.blind_for = since_last;
  last_turn_ = now;

  const Span offset{wall.us - now.us};
  const Span step = offset - wall_offset_;
  if (step > wall_step_min || step < Span{} - wall_step_min) {
    seen.wall_stepped = step;
    wall_offset_ = offset;
  }
  return seen;
}

}  // namespace ebbwatch
