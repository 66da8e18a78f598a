#include "timeleft/heat_loss.h"

#include <algorithm>
#include <cmath>

#include "timeleft/hours.h"
#include "timeleft/water.h"

namespace ebbwatch {
namespace {

constexpr double water_film = 200;          // W/(m² K), still water, 100 to 400
constexpr double air_resistance = 0.13;     // m² K/W, ISO 6946, vertical, radiation included
constexpr double bottom_transfer = 2;       // W/(m² K) on a stand, 1 to 4, assumption
constexpr double lid_transfer = 3;          // W/(m² K), lid with an air gap, 2 to 5, assumption
constexpr double open_transfer = 9;         // W/(m² K) upwards, 7 to 11, ISO 6946
constexpr double evaporation = 60;          // W/(m² kPa), open surface, 40 to 90
constexpr double mesh_evaporation = 40;     // Its low end: assumption for a mesh.
constexpr double salt_lowering = 0.000537;  // Green and Carritt 1967
constexpr double reference_c = 25;
constexpr double horizon_h = 30 * 24;

double evaporation_of(Cover cover) {
  if (cover == Cover::glass) return 0;
  return cover == Cover::mesh ? mesh_evaporation : evaporation;
}

double conductance_w_k(const TankBody& body) {
  const double top = body.cover == Cover::glass ? lid_transfer : open_transfer;
  return body.water.side_m2() * body.wall_w_m2_k +
         body.water.surface_m2() * (bottom_transfer + top);
}

double salt_factor(const TankBody& body) {
  return 1 - salt_lowering * body.salinity;
}

double vapour_difference_kpa(const TankBody& body, double water_c, double room_c) {
  return std::max(0.0, salt_factor(body) * vapour_pressure_kpa(water_c) -
                           body.humidity * vapour_pressure_kpa(room_c));
}

}  // namespace

double wall_transfer(double thickness_m, double conductivity) {
  return 1 / (1 / water_film + thickness_m / conductivity + air_resistance);
}

double vapour_pressure_kpa(double t_c) {
  return 0.6108 * std::exp(17.27 * t_c / (t_c + 237.3));
}

double heat_capacity_j_k(const TankBody& body) {
  return body.water.volume_m3() * water_density(body.salinity, reference_c) *
         water_specific_heat(body.salinity, reference_c);
}

double heat_loss_w(const TankBody& body, double water_c, double room_c) {
  return conductance_w_k(body) * (water_c - room_c) +
         body.water.surface_m2() * evaporation_of(body.cover) *
             vapour_difference_kpa(body, water_c, room_c);
}

LinearCooling linear_cooling(const TankBody& body, double room_c, double middle_c) {
  constexpr double step = 0.01;
  const double slope =
      (vapour_pressure_kpa(middle_c + step) - vapour_pressure_kpa(middle_c - step)) / (2 * step);
  const double loss_w_k = conductance_w_k(body) + body.water.surface_m2() *
                                                      evaporation_of(body.cover) *
                                                      salt_factor(body) * slope;
  return {heat_capacity_j_k(body) / loss_w_k / 3600,
          middle_c - heat_loss_w(body, middle_c, room_c) / loss_w_k};
}

double temperature_after(double hours, double start_c, const LinearCooling& cooling,
                         double room_k_per_h) {
  const double lag = room_k_per_h * cooling.tau_h;
  return cooling.equilibrium_c + room_k_per_h * hours - lag +
         (start_c - cooling.equilibrium_c + lag) * std::exp(-hours / cooling.tau_h);
}

double hours_to_limit(double start_c, double limit_c, const LinearCooling& cooling,
                      double towards_k_per_h) {
  if (start_c == limit_c) return 0;
  if (towards_k_per_h == 0) {
    const double ratio = (start_c - cooling.equilibrium_c) / (limit_c - cooling.equilibrium_c);
    const double hours =
        ratio > 1 && std::isfinite(ratio) ? cooling.tau_h * std::log(ratio) : never_h;
    return hours <= horizon_h ? hours : never_h;
  }
  const bool falls = limit_c < start_c;
  const double rate = falls ? -towards_k_per_h : towards_k_per_h;
  const auto beyond = [&](double hours) {
    const double t = temperature_after(hours, start_c, cooling, rate);
    return falls ? t <= limit_c : t >= limit_c;
  };
  // The way may first lead away from the limit, but it turns once at most: one crossing.
  if (!beyond(horizon_h)) return never_h;
  double before = 0, after = horizon_h;
  for (int i = 0; i < 60; ++i) {
    const double half = (before + after) / 2;
    (beyond(half) ? after : before) = half;
  }
  return after;
}

}  // namespace ebbwatch
