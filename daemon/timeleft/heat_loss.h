// How fast a tank without heater and pumps takes the temperature of its room: Newton's cooling with
// the heat that evaporation takes away, made linear around the middle of the way.
//
// Sources: surface resistances of ISO 6946; conductivities of EN 673 and EN ISO 10456 and the water
// side from memory; evaporation from a still pool, ASHRAE Transactions 104 (1998); vapour pressure
// of FAO Irrigation and Drainage Paper 56, equation 11; its lowering by salt, Green and Carritt
// (1967). Bottom, lid and humidity are assumptions, named beside each value.
#pragma once

#include "timeleft/tank_facts.h"

namespace ebbwatch {

/// The water as a block, in m.
struct WaterBlock {
  double length_m = 0, width_m = 0, depth_m = 0;
  double surface_m2() const { return length_m * width_m; }
  double side_m2() const { return 2 * (length_m + width_m) * depth_m; }
  double volume_m3() const { return surface_m2() * depth_m; }
};

inline constexpr double glass_conductivity = 1.0;     ///< W/(m K), EN 673
inline constexpr double acrylic_conductivity = 0.19;  ///< W/(m K), EN ISO 10456

/// Heat transfer of a wall between water and still room air, W/(m² K). Glass of 4 to 15 mm: 7.2 to
/// 6.7; acrylic of 6 to 20 mm: 6.0 to 4.2.
double wall_transfer(double thickness_m, double conductivity);
/// Saturation pressure of water vapour, kPa. @param t_c 0 to 40 °C.
double vapour_pressure_kpa(double t_c);

struct TankBody {
  WaterBlock water;
  double wall_w_m2_k = 0;  ///< From wall_transfer().
  Cover cover = Cover::open;
  double salinity = 0;
  double humidity = 0.5;  ///< Of the room, 0 to 1; an assumption.
};

/// J/K, the water's alone, at 25 °C: 4.17 kJ for each litre of fresh water, 4.09 of a reef's.
double heat_capacity_j_k(const TankBody& body);
/// Net loss to the room in W; below 0 when the tank gains. Temperatures 0 to 40 °C.
double heat_loss_w(const TankBody& body, double water_c, double room_c);

/// dT/dt = -(T - equilibrium) / tau.
struct LinearCooling {
  double tau_h = 0;
  double equilibrium_c = 0;  ///< The room's of a closed tank; below it while water evaporates.
};
/// @param middle_c about which it is made linear: half way from now to the limit.
LinearCooling linear_cooling(const TankBody& body, double room_c, double middle_c);

/// Hours until the water is at `limit_c`, 0 when it is there, never_h when it does not get there
/// within 30 days.
/// @param towards_k_per_h >= 0: how fast the equilibrium moves on, away from the start: a room
///        without heating cools (limit below), one without air conditioning warms (limit above).
double hours_to_limit(double start_c, double limit_c, const LinearCooling& cooling,
                      double towards_k_per_h);
/// The water's temperature after `hours` in a room that changes by `room_k_per_h` (falls: < 0), °C.
double temperature_after(double hours, double start_c, const LinearCooling& cooling,
                         double room_k_per_h);

}  // namespace ebbwatch
