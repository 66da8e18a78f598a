// Life of an alarm after ISA-18.2 / IEC 62682: what people have been told and have answered. Kept
// apart from contact, which is what is true.
#pragma once

#include <cstdint>

#include "core/watch.h"

namespace ebbwatch {

enum class AlarmEvent : std::uint8_t {
  goes_bad,         ///< On-delay over: a loss was confirmed.
  returns_to_good,  ///< Off-delay over.
  acknowledge,
  alarm_again,  ///< Told again after a time, still bad.
};

/// The next state. Shelved, suppressed and out of service are left by their own commands only.
AlarmState next(AlarmState state, AlarmEvent event);
/// The state that a shelved, suppressed or out-of-service alarm takes when that ends.
AlarmState after_shelf(bool still_bad);

}  // namespace ebbwatch
