// The only caller of the operating system's clocks.
#pragma once

#include "ports/clock.h"

namespace ebbwatch {

/// Counts on CLOCK_BOOTTIME from the wall clock's reading at construction, so that a fresh Instant
/// is close to Unix time and never steps afterwards, however the wall clock is set.
class SystemClock final : public Clock {
 public:
  SystemClock();
  Instant now() const override;
  WallTime wall_now() const override;

 private:
  Span anchor_;  ///< Wall clock minus boot-time clock at construction.
};

}  // namespace ebbwatch
