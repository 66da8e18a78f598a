// Limits of readings in the configuration.
#include "unit/settings/sample.h"

using namespace ebbwatch;
using test::changed;
using test::problems_of;
using test::sample;

namespace {

std::string with_readings(const std::string& mapping) {
  return changed(sample, "{id: lagoon-main, interval: 60s, supply: mains}",
                 "{id: lagoon-main, interval: 60s, supply: mains, readings: " + mapping + "}");
}

std::string problem_of(const std::string& mapping) {
  std::string text = problems_of(with_readings(mapping));
  const auto at = text.find("readings");
  return at == text.npos ? text : text.substr(at);
}

}  // namespace

TEST_CASE("settings: all that can be asked of a reading is read") {
  const auto loaded = load_settings_text(
      with_readings("{temperature_c: {low: 23.5, high: 28, deadband: 0.3, on_delay: 15min, "
                    "off_delay: 2min, unchanged_for: 12h, missing_for: 1h}, "
                    "watts.return-pump: {above_usual_percent: 20, below_usual_percent: 10}}"),
      "f.yaml");
  CHECK(problems_of(loaded) == "");
  const auto& readings = loaded.settings.sites.at(0).tanks.at(0).controllers.at(0).readings;
  REQUIRE(readings.size() == 2);
  CHECK(readings[0].name == "temperature_c");
  const ReadingLimits& water = readings[0].limits;
  CHECK(*water.low == 23.5);
  CHECK(*water.high == 28);
  CHECK(water.deadband == 0.3);
  CHECK(water.on_delay == Span::of_min(15));
  CHECK(water.off_delay == Span::of_min(2));
  CHECK(*water.unchanged_for == Span::of_h(12));
  CHECK(water.missing_for == Span::of_h(1));
  CHECK(readings[1].name == "watts.return-pump");
  CHECK(*readings[1].limits.above_usual == doctest::Approx(0.2));
  CHECK(*readings[1].limits.below_usual == doctest::Approx(0.1));
  CHECK(readings[1].limits.missing_for == Span::of_h(2));
}

TEST_CASE("settings: limits of readings that cannot be meant are refused with the remedy") {
  CHECK(problem_of("{temperature_c: {low: 28, high: 23}}") ==
        "readings.temperature_c: a low that is not below the high; allowed: low below high.\n");
  CHECK(problem_of("{ph: {low: 8, high: 8.4, deadband: 0.25}}") ==
        "readings.ph: a deadband of half the room between low and high, or more; allowed: a "
        "smaller deadband. Else a reading could never be normal again.\n");
  CHECK(problem_of("{watts: {high: 60}}") ==
        "readings.watts: watts of nothing; allowed: watts and the device's name. For example: "
        "watts.return-pump.\n");
  CHECK(problem_of("[temperature_c]") ==
        "readings: a list; allowed: a mapping of readings to their limits. For example: readings: "
        "{temperature_c: {low: 23, high: 28}}\n");
  CHECK(problem_of("{ph: {hihg: 8.4}}").find("Did you mean high?") != std::string::npos);
  CHECK(problem_of("{ph: {high: a lot}}").find("a number from -1") != std::string::npos);
  CHECK(problem_of("{ph: {high: 8.4}, ph: {high: 8.5}}").find("given twice") != std::string::npos);
  CHECK(problem_of("{watts.pump: {below_usual_percent: 0}}").find("a number above 0") !=
        std::string::npos);
}
