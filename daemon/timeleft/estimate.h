// How long a tank has once its power is lost: two clocks, each as a range with everything that was
// assumed, or the reason why there is none. Pure.
//
// The ranges are those of a factor on what is known worst: the temperature clock takes the time
// constant divided and multiplied by 1.35 (less where it was learnt) and a room 2 K further away
// and nearer (1 K where learnt with a room sensor), and for its low end a room that goes on
// cooling, or warming, by 0.5 K an hour; the oxygen clock takes the use times and divided by 1.7
// and the exchange halved and doubled, and without a probe a start at 80 and 95 % of saturation.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "timeleft/hours.h"
#include "timeleft/last_readings.h"
#include "timeleft/tank_facts.h"
#include "timeleft/time_constant.h"
#include "words/language.h"

namespace ebbwatch {

/// What is known of the tank's power when the clocks are asked for.
enum class PowerKnown : std::uint8_t {
  out,     ///< A controller there runs on battery, since TimeLeft::from.
  silent,  ///< Nothing is heard since TimeLeft::from; the power may be out.
  on,      ///< Contact: the clocks tell what would happen from now on.
};
/// "The power is out since 14:02.", "Nothing is heard since 14:02. If the power is out since
/// then:", "If the power goes out now:"
std::string power_condition(PowerKnown power, WallTime from, WallTime now);

/// What a clock ends at: a temperature in °C or a share of oxygen in mg/L.
struct ClockLimit {
  enum class Kind : std::uint8_t { water_below, water_above, oxygen_below };
  Kind kind = Kind::water_below;
  double value = 0;
};
/// "below 24 °C", "oxygen below 4 mg/L"
std::string limit_text(const ClockLimit& limit, Language language = Language::english);

/// One clock of a tank: a range, or a reason for none.
struct TankClock {
  std::optional<HoursRange> range;  ///< Hours from TimeLeft::from.
  ClockLimit limit;                 ///< Only with a range.
  std::string refusal;              ///< Why there is no range, and what to add; empty with one.
};

struct TimeLeft {
  WallTime from;  ///< When the clocks began to run.
  TankClock temperature, oxygen;
  std::vector<std::string> assumptions;  ///< Sentences with units; what the ranges rest on.
};

/// @param from when power was lost, or is thought lost now. Readings from after it (a logger on
/// battery) start their clock then, and the hours still count from `from`; those over 6 h older are
/// not used. A clock is refused, and says so, when what it needs is unknown or out of range: 10 to
/// 5000 L, 0 to 40 °C, salinity 0 to 40, water 5 cm to 2 m deep, air pressure 0.5 to 1.1 atm.
TimeLeft estimate_time_left(const TankFacts& facts, const TankReadings& readings, WallTime from,
                            const std::optional<LearntTimeConstant>& learnt);

/// One line for a notice, "oxygen below 4 mg/L in 1.5 to 6 hours; below 24 °C in 3 to 17 hours":
/// the clocks as of `now`, the one with the lower low end first. Empty when there is no clock.
std::string time_left_line(const TimeLeft& left, WallTime now,
                           Language language = Language::english);

/// "below 24 °C already", "below 24 °C in 3 to 17 hours", "not expected to get below 24 °C". The
/// reason for no estimate is in English in every language.
std::string clock_text(const TankClock& clock, double hours_later,
                       Language language = Language::english);

/// What everybody who reads an estimate must know, five sentences or two each.
const std::vector<std::string>& time_left_caution();

}  // namespace ebbwatch
