#include "cli/time_left_text.h"

#include <doctest/doctest.h>

#include <boost/json/parse.hpp>
#include <boost/json/value.hpp>
#include <sstream>

using namespace ebbwatch;

namespace {

constexpr WallTime now{1'790'000'000'000'000};  // 2026-09-21T14:13:20Z

TimeLeftReport report() {
  TimeLeftReport out{"lagoon", "Lagoon reef", "Elm Street", PowerKnown::on, now, {}};
  out.left.from = now;
  out.left.oxygen = {HoursRange{1.6, 3.4, 6.2}, {ClockLimit::Kind::oxygen_below, 4}, ""};
  out.left.temperature = {HoursRange{3.2, 8, never_h}, {ClockLimit::Kind::water_below, 24}, ""};
  out.left.assumptions = {"Water at 25.4 °C, the last reading."};
  return out;
}

bool has(const std::string& text, const std::string& part) {
  CAPTURE(text);
  return text.find(part) != text.npos;
}

}  // namespace

TEST_CASE("time left: in contact the clocks are for a power cut now") {
  const std::string text = time_left_text(report());
  CHECK(has(text, "Lagoon reef at Elm Street\nIf the power goes out now:\n"));
  CHECK(has(text, "  oxygen       oxygen below 4 mg/L in 1.5 to 6 hours; middle: 3 hours.\n"));
  CHECK(has(text, "  temperature  below 24 °C in 3 hours or later, or not at all; middle: 8"));
  CHECK(has(text, "- Water at 25.4 °C, the last reading.\n"));
  CHECK(has(text, "Unplug first, with dry hands"));
}

TEST_CASE("time left: silence is no power cut, a controller on battery is one") {
  TimeLeftReport one = report();
  one.left.from = now - Span::of_h(1);
  one.power = PowerKnown::silent;
  CHECK(has(time_left_text(one), "If the power is out since then:"));
  one.power = PowerKnown::out;
  const std::string text = time_left_text(one);
  CHECK(has(text, "The power is out since "));
  CHECK_FALSE(has(text, "If the power"));
  // An hour has passed.
  CHECK(has(text, "oxygen below 4 mg/L in less than an hour to 5 hours; middle: "));
}

TEST_CASE("time left: no line is wider than 80 columns") {
  TimeLeftReport one = report();
  one.left.temperature = {
      std::nullopt, {}, "the room's temperature is unknown: report room_temperature_c, or give it"};
  std::istringstream lines(time_left_text(one));
  for (std::string line; std::getline(lines, line);) {
    CAPTURE(line);
    CHECK(line.size() <= 82);  // Bytes; two signs of degrees at most.
  }
}

TEST_CASE("time left: JSON has hours with their unit, null for never, refusals and the caution") {
  TimeLeftReport one = report();
  auto parsed = boost::json::parse(time_left_json(one));
  CHECK(parsed.at("tank") == "lagoon");
  CHECK(parsed.at("power") == "on");
  CHECK(parsed.at("oxygen").at("low_h") == 1.6);
  CHECK(parsed.at("oxygen").at("limit") == "oxygen below 4 mg/L");
  CHECK(parsed.at("temperature").at("high_h").is_null());
  CHECK(parsed.at("caution").as_array().size() == 5);
  one.power = PowerKnown::silent;
  one.left.oxygen = {std::nullopt, {}, "what lives in the tank is unknown: give livestock"};
  parsed = boost::json::parse(time_left_json(one));
  CHECK(parsed.at("power") == "unknown");
  CHECK(parsed.at("oxygen").at("refusal") == "what lives in the tank is unknown: give livestock");
  CHECK_FALSE(parsed.at("oxygen").as_object().contains("low_h"));
}
