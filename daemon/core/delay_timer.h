// On-delay and off-delay of one condition (ISA-18.2, IEC 62682): raised when it has been bad
// without a break for the on-delay, measured from the first bad sample; cleared likewise.
#pragma once

#include <cstdint>

#include "core/time.h"

namespace ebbwatch {

class DelayTimer {
 public:
  enum class Change : std::uint8_t { none, raised, cleared };
  DelayTimer(Span on, Span off) : on_(on), off_(off) {}

  /// @pre `at` is not before the previous sample's.
  Change sample(Instant at, bool bad);
  bool raised() const { return raised_; }

 private:
  Span on_;
  Span off_;
  bool raised_ = false;
  bool running_ = false;  // the condition differs from what is told
  Instant since_;
};

}  // namespace ebbwatch
