// The newest good readings of a tank, from whichever of its controllers sent them.
#pragma once

#include <optional>
#include <string>

#include "core/time.h"

namespace ebbwatch {

struct TankReading {
  double value = 0;
  WallTime at;
};

struct TankReadings {
  std::optional<TankReading> water_c;       ///< 0 to 40 °C.
  std::optional<TankReading> room_c;        ///< 0 to 40 °C.
  std::optional<TankReading> salinity_ppt;  ///< 0 to 40 parts per thousand.
  std::optional<TankReading> oxygen_mg_l;   ///< 0 to 25 mg/L.
};

/// The readings of one check-in. @param json its `readings` object, as in CheckInRow; a text that
/// is no object holds none. Values that are no numbers or out of range (a probe that broke) are
/// left out.
TankReadings read_readings(WallTime at, const std::string& json);
/// Takes over every reading of `other` that is newer.
void take_newer(TankReadings& readings, const TankReadings& other);
/// Whether the check-in measured power at devices and all of them together drew less than 1 W.
bool nothing_draws_power(const std::string& json);

}  // namespace ebbwatch
