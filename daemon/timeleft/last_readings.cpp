#include "timeleft/last_readings.h"

#include <boost/json/parse.hpp>
#include <boost/json/value.hpp>

namespace ebbwatch {
namespace {

namespace json = boost::json;

constexpr double temperature_max_c = 40, salinity_max = 40, oxygen_max_mg_l = 25;
constexpr double no_watts = 1;

json::object parsed(const std::string& text) {
  boost::system::error_code error;
  json::value value = json::parse(text, error);
  return error || !value.is_object() ? json::object() : std::move(value.get_object());
}

std::optional<TankReading> reading(const json::object& readings, const char* name, double most,
                                   WallTime at) {
  const json::value* found = readings.if_contains(name);
  if (found == nullptr || !found->is_number()) return std::nullopt;
  const double value = found->to_number<double>();
  if (!(value >= 0 && value <= most)) return std::nullopt;
  return TankReading{value, at};
}

}  // namespace

TankReadings read_readings(WallTime at, const std::string& text) {
  if (text.empty()) return {};
  const json::object readings = parsed(text);
  return {reading(readings, "temperature_c", temperature_max_c, at),
          reading(readings, "room_temperature_c", temperature_max_c, at),
          reading(readings, "salinity_ppt", salinity_max, at),
          reading(readings, "oxygen_mg_l", oxygen_max_mg_l, at)};
}

void take_newer(TankReadings& readings, const TankReadings& other) {
  for (const auto member : {&TankReadings::water_c, &TankReadings::room_c,
                            &TankReadings::salinity_ppt, &TankReadings::oxygen_mg_l}) {
    const auto& newer = other.*member;
    auto& held = readings.*member;
    if (newer && (!held || held->at < newer->at)) held = newer;
  }
}

bool nothing_draws_power(const std::string& text) {
  const json::object readings = parsed(text);
  const json::value* watts = readings.if_contains("watts");
  if (watts == nullptr || !watts->is_object() || watts->get_object().empty()) return false;
  double sum = 0;
  for (const auto& [name, value] : watts->get_object()) {
    if (!value.is_number()) return false;
    sum += value.to_number<double>();
  }
  return sum < no_watts;
}

}  // namespace ebbwatch
