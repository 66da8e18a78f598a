// What an owner can say about a tank for the estimate of the time that it has left. Plain data with
// the units in the names; everything is optional, and estimate.h says what it makes of gaps.
#pragma once

#include <cstdint>
#include <optional>

namespace ebbwatch {

/// What lies on top: nothing, a mesh that lets vapour through, or panes that close.
enum class Cover : std::uint8_t { open, mesh, glass };
/// How much lives in the tank for its size.
enum class Stock : std::uint8_t { light, medium, heavy };
/// What lives in it; gives the safe band, the oxygen limit and the size of a typical fish.
enum class Livestock : std::uint8_t { tropical, reef, marine_fish, goldfish, cold_water };
enum class WallMaterial : std::uint8_t { glass, acrylic };

/// Temperatures that the livestock bears for long, in °C; low < high.
struct SafeBand {
  double low_c = 0;
  double high_c = 0;
};

struct TankFacts {
  std::optional<double> volume_l;                        ///< Of the water.
  std::optional<double> length_cm, width_cm, height_cm;  ///< Inside.
  std::optional<double> wall_thickness_mm;
  std::optional<WallMaterial> wall;
  std::optional<Cover> cover;
  std::optional<double> salinity_ppt;  ///< 0 fresh, 33 to 36 reef.
  std::optional<Livestock> livestock;
  std::optional<Stock> stock;
  std::optional<double> fish_mass_g;  ///< Of all fish together; better than `stock`.
  std::optional<double> coral_area_m2;
  std::optional<SafeBand> safe_temperature;
  std::optional<double> safe_oxygen_mg_l;
  std::optional<double> setpoint_c;
  std::optional<double> room_temperature_c;
  std::optional<double> altitude_m;  ///< Of the site above the sea.
};

}  // namespace ebbwatch
