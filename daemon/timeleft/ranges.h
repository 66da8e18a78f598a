// From one best value to low, middle and high: what each clock makes of not knowing better.
#pragma once

#include <cstdint>
#include <optional>

#include "timeleft/heat_loss.h"
#include "timeleft/hours.h"
#include "timeleft/oxygen.h"
#include "timeleft/tank_facts.h"

namespace ebbwatch {

struct TemperatureCase {
  TankBody body;
  double water_c = 0, room_c = 0;  ///< 0 to 40
  SafeBand band;
  std::optional<double> learnt_tau_h{};  ///< Replaces what the size says.
  double tau_factor = 1.35;              ///< >= 1
  double room_error_k = 2;               ///< >= 0
  /// How fast a room without heating or cooling may drift away; only the low end counts with it.
  double room_drift_k_per_h = 0.5;
};

enum class BandSide : std::uint8_t { below, above };
struct TemperatureRange {
  HoursRange hours;  ///< Until the water leaves the band on either side; 0 when it has.
  BandSide side = BandSide::below;  ///< Where it leaves first, by the low end.
};
TemperatureRange temperature_range(const TemperatureCase& tank);

struct OxygenCase {
  double saturation_mg_l = 0;
  std::optional<double> measured_mg_l{};  ///< Without it: 80 and 95 % of saturation.
  double use_mg_l_h = 0;
  double reaeration_per_h = 0;
  double limit_mg_l = 0;
};
HoursRange oxygen_range(const OxygenCase& tank);

}  // namespace ebbwatch
