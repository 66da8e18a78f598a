#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "notices/story.h"

using ebbwatch::readings_text;

TEST_CASE("readings: known names come first with their units, without idle decimals") {
  CHECK(readings_text(R"({"ph": 8.10, "temperature_c": 25.40, "room_temperature_c": 21,)"
                      R"( "watts": {"heater": 150.0}, "level": 3})") ==
        "water 25.4 °C, room 21 °C, pH 8.1, heater 150 W, level 3");
  CHECK(readings_text(R"({"salinity_ppt": 35, "orp_mv": 380, "oxygen_mg_l": 6.512})") ==
        "salinity 35 ppt, ORP 380 mV, oxygen 6.51 mg/l");
  CHECK(readings_text(R"({"temperature_c": -0.001})") == "water 0 °C");
}

TEST_CASE("readings: what is no number, no object or no JSON is left out") {
  CHECK(readings_text(R"({"temperature_c": "warm", "ph": null, "watts": 5})") == "");
  CHECK(readings_text(R"({"ph": 1e300})") == "");
  CHECK(readings_text("[1,2]") == "");
  CHECK(readings_text("{") == "");
  CHECK(readings_text("") == "");
}

TEST_CASE("readings: at most eight values, with names that fit") {
  std::string json = "{";
  for (int i = 0; i < 20; ++i) {
    json += (i == 0 ? "\"" : ",\"") + std::string("a\\nvery long name of a probe ") +
            std::to_string(i) + "\":" + std::to_string(i);
  }
  const std::string text = readings_text(json + "}");
  CHECK(text.find('\n') == std::string::npos);
  CHECK(text.starts_with("a very long nam... 0 0, "));
  CHECK(std::count(text.begin(), text.end(), ',') == 7);
}
