#include "timeleft/oxygen.h"

#include <cmath>

#include "timeleft/hours.h"

namespace ebbwatch {
namespace {

constexpr double kelvin = 273.15;
constexpr double activity_factor = 2;      // 1.5 to 3; use can double after feeding.
constexpr double other_use_factor = 1.3;   // 1.1 to 2; bacteria, substrate, waste: assumption.
constexpr double coral_use_mg_m2_h = 250;  // 100 to 500, dark, common practice.

}  // namespace

double oxygen_saturation(double t, double salinity, double p) {
  const double k = t + kelvin;
  const double base = std::exp(-139.34411 + 1.575701e5 / k - 6.642308e7 / (k * k) +
                               1.243800e10 / (k * k * k) - 8.621949e11 / (k * k * k * k));
  const double salt = std::exp(-salinity * (0.017674 - 10.754 / k + 2140.7 / (k * k)));
  const double vapour = std::exp(11.8571 - 3840.70 / k - 216961.0 / (k * k));
  const double theta = 0.000975 - 1.426e-5 * t + 6.436e-8 * t * t;
  return base * salt * (p - vapour) * (1 - theta * p) / ((1 - vapour) * (1 - theta));
}

double pressure_at(double altitude_m) {
  return std::pow(1 - 2.25577e-5 * altitude_m, 5.25588);
}

double resting_fish_use_mg_h(double mass_g, double t_c, double exponent) {
  constexpr double mg_per_mmol = 31.998;
  return mg_per_mmol * std::exp(15.7 - 5020.0 / (t_c + kelvin)) * std::pow(mass_g / 50, exponent);
}

double oxygen_schmidt_number(double t, bool sea_water) {
  return sea_water ? 1920.4 + t * (-135.6 + t * (5.2122 + t * (-0.10939 + t * 0.00093777)))
                   : 1745.1 + t * (-124.34 + t * (4.8055 + t * (-0.10115 + t * 0.00086842)));
}

double surface_transfer_m_h(double k600_cm_h, double t_c, bool sea_water) {
  // Exponent of a smooth surface: Jähne 1987.
  return k600_cm_h / 100 * std::pow(oxygen_schmidt_number(t_c, sea_water) / 600, -2.0 / 3);
}

double hours_to_oxygen(const OxygenBalance& b, double limit_mg_l) {
  if (b.start_mg_l <= limit_mg_l) return 0;
  constexpr double no_exchange = 1e-12;
  if (b.reaeration_per_h <= no_exchange) {
    return b.use_mg_l_h > 0 ? (b.start_mg_l - limit_mg_l) / b.use_mg_l_h : never_h;
  }
  const double end = b.saturation_mg_l - b.use_mg_l_h / b.reaeration_per_h;
  if (end >= limit_mg_l) return never_h;
  return std::log((b.start_mg_l - end) / (limit_mg_l - end)) / b.reaeration_per_h;
}

const LivestockDefaults& defaults_of(Livestock livestock) {
  // Bands and limits: common practice; reef oxygen after Haas et al., PeerJ 2 (2014) e235.
  static constexpr LivestockDefaults table[] = {
      {1.5, 0.79, 0, {24, 27}, 3},     // tropical
      {30, 0.633, 35, {24, 27}, 4},    // reef
      {30, 0.633, 33, {23, 28}, 3.5},  // marine_fish
      {50, 0.79, 0, {15, 22}, 2},      // goldfish
      {50, 0.79, 0, {8, 16}, 5},       // cold_water
  };
  return table[static_cast<std::size_t>(livestock)];
}

// Assumptions, set so that a hundred litres with sixty small fish are heavy and a reef with 2 m² of
// coral tissue in a thousand litres is medium.
double fish_g_per_l(Stock stock) {
  constexpr double grams[] = {0.25, 0.5, 1.0};
  return grams[static_cast<std::size_t>(stock)];
}

double coral_m2_per_l(Stock stock) {
  constexpr double square_metres[] = {0.001, 0.002, 0.004};
  return square_metres[static_cast<std::size_t>(stock)];
}

double oxygen_use_mg_h(const Consumers& c, double t_c) {
  const double fish = c.fish_mass_g / c.typical_fish_g *
                      resting_fish_use_mg_h(c.typical_fish_g, t_c, c.exponent) * activity_factor;
  return (fish + c.coral_m2 * coral_use_mg_m2_h) * other_use_factor;
}

}  // namespace ebbwatch
