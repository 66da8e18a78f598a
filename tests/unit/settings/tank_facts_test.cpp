// What a tank may say of itself for the time that it has left.
#include "unit/settings/sample.h"

using namespace ebbwatch;
using test::changed;
using test::problems_of;
using test::sample;

namespace {
std::string with(const std::string& keys) {
  return changed(sample, "        volume_l: 450\n", "        volume_l: 450\n" + keys);
}
}  // namespace

TEST_CASE("settings: all that can be said of a tank is read") {
  const auto loaded = load_settings_text(
      changed(
          with("        length_cm: 150\n        width_cm: 60\n        height_cm: 60\n"
               "        wall: acrylic\n        wall_thickness_mm: 15\n        cover: mesh\n"
               "        livestock: marine_fish\n        stock: heavy\n        fish_mass_g: 400\n"
               "        coral_area_m2: 0\n        salinity_ppt: 34.5\n        setpoint_c: 25\n"
               "        room_temperature_c: 19.5\n        safe_oxygen_mg_l: 4.5\n"
               "        safe_temperature_c: {low: 23, high: 28}\n"),
          "    call_list: everyday\n", "    call_list: everyday\n    altitude_m: 500\n"),
      "f.yaml");
  CHECK(problems_of(loaded) == "");
  const SiteSettings& site = loaded.settings.sites.at(0);
  const TankFacts facts = tank_facts(site, site.tanks.at(0));
  CHECK(facts.volume_l == 450);
  CHECK(facts.length_cm == 150);
  CHECK(facts.width_cm == 60);
  CHECK(facts.height_cm == 60);
  CHECK(facts.wall == WallMaterial::acrylic);
  CHECK(facts.wall_thickness_mm == 15);
  CHECK(facts.cover == Cover::mesh);
  CHECK(facts.livestock == Livestock::marine_fish);
  CHECK(facts.stock == Stock::heavy);
  CHECK(facts.fish_mass_g == 400);
  CHECK(facts.coral_area_m2 == 0);
  CHECK(facts.salinity_ppt == 34.5);
  CHECK(facts.setpoint_c == 25);
  CHECK(facts.room_temperature_c == 19.5);
  CHECK(facts.safe_oxygen_mg_l == 4.5);
  REQUIRE(facts.safe_temperature.has_value());
  CHECK(facts.safe_temperature->low_c == 23);
  CHECK(facts.safe_temperature->high_c == 28);
  CHECK(facts.altitude_m == 500);
}

TEST_CASE("settings: a word that is no cover lists those that are") {
  CHECK(problems_of(with("        cover: net\n")) ==
        "f.yaml:15:16: sites[0].tanks[0].cover: \"net\"; allowed: open, mesh, glass.\n");
}

TEST_CASE("settings: a temperature beyond 40 is reported") {
  CHECK(problems_of(with("        setpoint_c: 78\n")) ==
        "f.yaml:15:21: sites[0].tanks[0].setpoint_c: \"78\"; allowed: a number from 0 to 40.\n");
}

TEST_CASE("settings: a length needs a width") {
  CHECK(
      problems_of(with("        length_cm: 80\n")) ==
      "f.yaml:15:20: sites[0].tanks[0].length_cm: no width_cm beside it; allowed: both or none of "
      "length_cm and width_cm.\n");
}

TEST_CASE("settings: more water than the tank holds is reported") {
  CHECK(problems_of(with("        length_cm: 80\n        width_cm: 35\n        height_cm: 40\n")) ==
        "f.yaml:14:19: sites[0].tanks[0].volume_l: 450 L; allowed: at most what length, width and "
        "height hold, 112 L.\n");
}

TEST_CASE("settings: a safe band has a low below its high, and both") {
  CHECK(problems_of(with("        safe_temperature_c: {low: 27, high: 24}\n")) ==
        "f.yaml:15:29: sites[0].tanks[0].safe_temperature_c: 27 to 24 °C; allowed: a low that is "
        "below the high.\n");
  CHECK(problems_of(with("        safe_temperature_c: {low: 24}\n"))
            .find("safe_temperature_c.high: missing") != std::string::npos);
}

TEST_CASE("settings: a set point outside the safe band is reported") {
  CHECK(problems_of(
            with("        setpoint_c: 30\n        safe_temperature_c: {low: 24, high: 27}\n")) ==
        "f.yaml:15:21: sites[0].tanks[0].setpoint_c: 30 °C; allowed: a temperature within "
        "safe_temperature_c, 24 to 27 °C.\n");
}
