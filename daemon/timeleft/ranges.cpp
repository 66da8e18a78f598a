#include "timeleft/ranges.h"

#include <algorithm>

namespace ebbwatch {
namespace {

constexpr double use_factor = 1.7, exchange_factor = 2;
constexpr double start_share_low = 0.80, start_share_high = 0.95;

/// @param room_shift_k away from the water's side of the limit; < 0: nearer.
double hours_to(const TemperatureCase& tank, BandSide side, double room_shift_k, double tau_factor,
                double drift_k_per_h) {
  const bool below = side == BandSide::below;
  const double limit_c = below ? tank.band.low_c : tank.band.high_c;
  if (below ? tank.water_c <= limit_c : tank.water_c >= limit_c) return 0;
  const double room_c = tank.room_c + (below ? -room_shift_k : room_shift_k);
  LinearCooling cooling = linear_cooling(tank.body, room_c, (tank.water_c + limit_c) / 2);
  cooling.tau_h = tank.learnt_tau_h.value_or(cooling.tau_h) * tau_factor;
  return hours_to_limit(tank.water_c, limit_c, cooling, drift_k_per_h);
}

HoursRange hours_on(const TemperatureCase& tank, BandSide side) {
  return {hours_to(tank, side, tank.room_error_k, 1 / tank.tau_factor, tank.room_drift_k_per_h),
          hours_to(tank, side, 0, 1, 0),
          hours_to(tank, side, -tank.room_error_k, tank.tau_factor, 0)};
}

}  // namespace

TemperatureRange temperature_range(const TemperatureCase& tank) {
  const HoursRange below = hours_on(tank, BandSide::below);
  const HoursRange above = hours_on(tank, BandSide::above);
  return {{std::min(below.low_h, above.low_h), std::min(below.middle_h, above.middle_h),
           std::min(below.high_h, above.high_h)},
          above.low_h < below.low_h ? BandSide::above : BandSide::below};
}

HoursRange oxygen_range(const OxygenCase& tank) {
  const auto hours = [&](double share, double use, double exchange) {
    const double start = tank.measured_mg_l.value_or(share * tank.saturation_mg_l);
    return hours_to_oxygen(
        {start, tank.saturation_mg_l, tank.use_mg_l_h * use, tank.reaeration_per_h * exchange},
        tank.limit_mg_l);
  };
  // More exchange helps, but not where the water holds more than the air gives; so both are tried.
  const double low = std::min(hours(start_share_low, use_factor, 1 / exchange_factor),
                              hours(start_share_low, use_factor, exchange_factor));
  const double high = std::max(hours(start_share_high, 1 / use_factor, 1 / exchange_factor),
                               hours(start_share_high, 1 / use_factor, exchange_factor));
  return {low, hours(start_share_high, 1, 1), high};
}

}  // namespace ebbwatch
