// How what is said of a tank's size, temperatures and livestock goes together.
#include <cstdio>

#include "settings/check.h"

namespace ebbwatch {
namespace {

std::string with_unit(double value, const char* unit) {
  char text[48];
  std::snprintf(text, sizeof text, "%.6g %s", value, unit);
  return text;
}

void check_size(const TankFacts& facts, const std::string& path, std::vector<Finding>& out) {
  if (facts.length_cm.has_value() != facts.width_cm.has_value()) {
    const bool has_length = facts.length_cm.has_value();
    out.push_back({path + (has_length ? ".length_cm" : ".width_cm"),
                   has_length ? "no width_cm beside it" : "no length_cm beside it",
                   "both or none of length_cm and width_cm", ""});
  }
  if (!facts.volume_l || !facts.length_cm || !facts.width_cm || !facts.height_cm) return;
  const double holds_l = *facts.length_cm * *facts.width_cm * *facts.height_cm / 1000;
  constexpr double slack = 1.02;  // Measured to the centimetre.
  if (*facts.volume_l > holds_l * slack) {
    out.push_back({path + ".volume_l", with_unit(*facts.volume_l, "L"),
                   "at most what length, width and height hold, " + with_unit(holds_l, "L"), ""});
  }
}

void check_band(const TankFacts& facts, const std::string& path, std::vector<Finding>& out) {
  if (!facts.safe_temperature) return;
  const SafeBand& band = *facts.safe_temperature;
  const std::string range = with_unit(band.low_c, "to ") + with_unit(band.high_c, "°C");
  if (band.low_c >= band.high_c) {
    out.push_back({path + ".safe_temperature_c", range, "a low that is below the high", ""});
  } else if (facts.setpoint_c &&
             (*facts.setpoint_c < band.low_c || *facts.setpoint_c > band.high_c)) {
    out.push_back({path + ".setpoint_c", with_unit(*facts.setpoint_c, "°C"),
                   "a temperature within safe_temperature_c, " + range, ""});
  }
}

}  // namespace

void check_tanks(const Settings& settings, std::vector<Finding>& out) {
  for (std::size_t s = 0; s < settings.sites.size(); ++s) {
    const std::string tanks = indexed("sites", s) + ".tanks";
    for (std::size_t t = 0; t < settings.sites[s].tanks.size(); ++t) {
      const TankFacts& facts = settings.sites[s].tanks[t].facts;
      check_size(facts, indexed(tanks, t), out);
      check_band(facts, indexed(tanks, t), out);
    }
  }
}

TankFacts tank_facts(const SiteSettings& site, const TankSettings& tank) {
  TankFacts facts = tank.facts;
  facts.altitude_m = site.altitude_m;
  return facts;
}

}  // namespace ebbwatch
