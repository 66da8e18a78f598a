#include "timeleft/last_readings.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

TEST_CASE("readings: those that the clocks need are read, with their time") {
  const TankReadings all =
      read_readings({7}, R"({"temperature_c": 25.4, "room_temperature_c": 19, "salinity_ppt": 34,
                             "oxygen_mg_l": 6.5, "ph": 8.1})");
  CHECK(all.water_c->value == 25.4);
  CHECK(all.room_c->value == 19);
  CHECK(all.salinity_ppt->value == 34);
  CHECK(all.oxygen_mg_l->value == 6.5);
  CHECK(all.water_c->at.us == 7);
}

TEST_CASE("readings: a broken probe's value is no reading") {
  for (const char* text :
       {R"({"temperature_c": -127})", R"({"temperature_c": 85})", R"({"temperature_c": "warm"})",
        R"({"temperature_c": null})", "[]", "", "{", R"({"oxygen_mg_l": 25})"}) {
    CAPTURE(text);
    CHECK_FALSE(read_readings({7}, text).water_c.has_value());
  }
}

TEST_CASE("readings: of several controllers the newest counts, each for itself") {
  TankReadings all = read_readings({10}, R"({"temperature_c": 25, "oxygen_mg_l": 7})");
  take_newer(all, read_readings({20}, R"({"temperature_c": 26})"));
  take_newer(all, read_readings({15}, R"({"temperature_c": 24, "room_temperature_c": 20})"));
  CHECK(all.water_c->value == 26);
  CHECK(all.oxygen_mg_l->value == 7);
  CHECK(all.room_c->value == 20);
}

TEST_CASE("readings: devices draw nothing only where all were measured") {
  CHECK(nothing_draws_power(R"({"watts": {"heater": 0, "pump": 0.4}})"));
  CHECK_FALSE(nothing_draws_power(R"({"watts": {"heater": 0, "pump": 12}})"));
  CHECK_FALSE(nothing_draws_power(R"({"watts": {}})"));
  CHECK_FALSE(nothing_draws_power(R"({"watts": {"heater": "off"}})"));
  CHECK_FALSE(nothing_draws_power(R"({"temperature_c": 25})"));
  CHECK_FALSE(nothing_draws_power(""));
}
