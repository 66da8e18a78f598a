#include "timeleft/estimate.h"

#include <doctest/doctest.h>

#include <algorithm>

using namespace ebbwatch;

namespace {

constexpr WallTime now{1'790'000'000'000'000};
constexpr ClockLimit below_24{ClockLimit::Kind::water_below, 24};
constexpr ClockLimit oxygen_below_4{ClockLimit::Kind::oxygen_below, 4};

TankFacts reef() {
  TankFacts facts;
  facts.volume_l = 300;
  facts.length_cm = 120;
  facts.width_cm = 50;
  facts.height_cm = 55;
  facts.cover = Cover::open;
  facts.livestock = Livestock::reef;
  facts.stock = Stock::medium;
  facts.room_temperature_c = 19;
  facts.setpoint_c = 25.5;
  return facts;
}

TimeLeft estimate(const TankFacts& facts, const TankReadings& readings = {}) {
  return estimate_time_left(facts, readings, now, std::nullopt);
}

bool assumes(const TimeLeft& left, const std::string& part) {
  return std::any_of(left.assumptions.begin(), left.assumptions.end(),
                     [&](const std::string& one) { return one.find(part) != one.npos; });
}

}  // namespace

TEST_CASE("estimate: a reef in a cool room has two clocks, the oxygen's first") {
  const TimeLeft left = estimate(reef());
  REQUIRE(left.temperature.range.has_value());
  REQUIRE(left.oxygen.range.has_value());
  CHECK(limit_text(left.temperature.limit) == "below 24 °C");
  CHECK(limit_text(left.oxygen.limit) == "oxygen below 4 mg/L");
  CHECK(left.oxygen.range->low_h < left.oxygen.range->middle_h);
  CHECK(left.temperature.range->low_h < left.temperature.range->middle_h);
  CHECK(left.temperature.refusal.empty());
}

TEST_CASE("estimate: readings come before what was given, unless they are old") {
  TankReadings readings =
      read_readings(now - Span::of_min(10), R"({"temperature_c": 26.5, "room_temperature_c": 17})");
  TimeLeft left = estimate(reef(), readings);
  CHECK(assumes(left, "Water at 26.5 °C, the last reading."));
  CHECK(assumes(left, "Room at 17 °C, the last reading"));
  readings = read_readings(now - Span::of_h(7), R"({"temperature_c": 26.5})");
  left = estimate(reef(), readings);
  CHECK(assumes(left, "Water at 25.5 °C, the set point"));
  CHECK(assumes(left, "Room at 19 °C, as given"));
}

TEST_CASE("estimate: a reading taken after the power went starts its clock then") {
  const auto at = [](Span later) {
    return estimate(reef(), read_readings(now + later, R"({"temperature_c": 25})"));
  };
  const HoursRange before = *at(Span{}).temperature.range;
  const HoursRange after = *at(Span::of_h(2)).temperature.range;
  CHECK(after.low_h - before.low_h == doctest::Approx(2));
  CHECK(after.high_h - before.high_h == doctest::Approx(2));
  // Without an oxygen probe that clock runs from the beginning.
  CHECK(at(Span::of_h(2)).oxygen.range->low_h == at(Span{}).oxygen.range->low_h);
}

TEST_CASE("estimate: what is not known is refused with the remedy, each clock for itself") {
  TankFacts facts = reef();
  facts.room_temperature_c.reset();
  TimeLeft left = estimate(facts);
  CHECK_FALSE(left.temperature.range.has_value());
  CHECK(left.temperature.refusal ==
        "the room's temperature is unknown: report room_temperature_c, or give it");
  CHECK(left.oxygen.range.has_value());

  facts = reef();
  facts.stock.reset();
  left = estimate(facts);
  CHECK(left.temperature.range.has_value());
  CHECK(left.oxygen.refusal == "how much lives in the tank is unknown: give stock or fish_mass_g");

  facts = reef();
  facts.livestock.reset();
  left = estimate(facts);
  CHECK(left.temperature.refusal ==
        "the safe band is unknown: give livestock or safe_temperature_c");
  CHECK(left.oxygen.refusal == "what lives in the tank is unknown: give livestock");
  facts.safe_temperature = SafeBand{23, 28};
  CHECK(estimate(facts).temperature.range.has_value());

  facts = reef();
  facts.setpoint_c.reset();
  left = estimate(facts);
  CHECK(left.oxygen.refusal ==
        "the water's temperature is unknown: report temperature_c, or give setpoint_c");
  CHECK(left.temperature.refusal == left.oxygen.refusal);

  facts = TankFacts{};
  CHECK(estimate(facts).oxygen.refusal ==
        "the tank's size is unknown: give volume_l, or length_cm, width_cm and height_cm");
}

TEST_CASE("estimate: outside of what the formulas hold for there is none") {
  TankFacts facts = reef();
  facts.volume_l = 9;
  CHECK(estimate(facts).oxygen.refusal ==
        "9 L is outside of 10 to 5000 L, where the formulas hold");
  facts.volume_l = 6000;
  CHECK_FALSE(estimate(facts).temperature.range.has_value());
  facts = reef();
  facts.length_cm = 500;
  facts.width_cm = 200;
  CHECK(estimate(facts).oxygen.refusal ==
        "the water would be 3 cm deep, outside of 5 to 200 cm: check volume_l, length_cm and "
        "width_cm");
  facts = reef();
  facts.altitude_m = 7000;
  CHECK(estimate(facts).oxygen.refusal == "the air pressure is outside of 0.5 to 1.1 atm");
}

TEST_CASE("estimate: a size that is half known is completed, and said so") {
  TankFacts facts = reef();
  facts.length_cm.reset();
  CHECK(assumes(estimate(facts), "twice as long as wide and deep"));
  facts = reef();
  facts.volume_l.reset();
  CHECK(assumes(estimate(facts), "90 % of the height: 297 L"));
}

TEST_CASE("estimate: what was learnt narrows the range") {
  const TankReadings readings =
      read_readings(now, R"({"temperature_c": 25.5, "room_temperature_c": 19})");
  const TimeLeft from_size = estimate(reef(), readings);
  const auto learnt = combine({11.0, 11.2, 11.1, 10.9, 11.3});
  const TimeLeft left = estimate_time_left(reef(), readings, now, learnt);
  CHECK(left.temperature.range->high_h - left.temperature.range->low_h <
        from_size.temperature.range->high_h - from_size.temperature.range->low_h);
  CHECK(assumes(left, "a time constant of 11.1 hours, learnt from 5 stretches"));
}

TEST_CASE("estimate: no assumption has a number without a unit") {
  const TimeLeft left = estimate(reef());
  CHECK(left.assumptions.size() >= 8);
  CHECK(assumes(left, "Salinity 35 ppt"));
  CHECK(assumes(left, "Air at 50 % humidity"));
  CHECK(assumes(left, "150 g of fish of 30 g each and 0.6 m² of coral"));
}

TEST_CASE("estimate: a clock in words, as time goes on") {
  TankClock clock{HoursRange{3.2, 8, 17.5}, below_24, ""};
  CHECK(clock_text(clock, 0) == "below 24 °C in 3 to 17 hours");
  CHECK(clock_text(clock, 2.5) == "below 24 °C in less than an hour to 15 hours");
  CHECK(clock_text(clock, 4) == "below 24 °C perhaps by now, at the latest in 13 hours");
  CHECK(clock_text(clock, 18) == "probably below 24 °C by now");
  clock.range = HoursRange{3.2, 8, never_h};
  CHECK(clock_text(clock, 0) == "below 24 °C in 3 hours or later, or not at all");
  CHECK(clock_text(clock, 4) == "below 24 °C perhaps by now, or not at all");
  clock.range = HoursRange{never_h, never_h, never_h};
  CHECK(clock_text(clock, 4) == "not expected to get below 24 °C");
  clock.range = HoursRange{0, 0, 0};
  CHECK(clock_text(clock, 0) == "below 24 °C already");
  clock = {std::nullopt, {}, "the tank's size is unknown"};
  CHECK(clock_text(clock, 0) == "no estimate: the tank's size is unknown");
}

TEST_CASE("estimate: the line for a notice names the shorter clock first") {
  TimeLeft left;
  left.from = now;
  left.temperature = {HoursRange{3.2, 8, 17.5}, below_24, ""};
  left.oxygen = {HoursRange{1.6, 3, 6.2}, oxygen_below_4, ""};
  CHECK(time_left_line(left, now) ==
        "oxygen below 4 mg/L in 1.5 to 6 hours; below 24 °C in 3 to 17 hours");
  left.oxygen.range->low_h = 5;
  CHECK(time_left_line(left, now).starts_with("below 24 °C in 3 to 17 hours; "));
  left.temperature.range.reset();
  CHECK(time_left_line(left, now + Span::of_h(1)) == "oxygen below 4 mg/L in 4 to 5 hours");
  left.oxygen.range.reset();
  CHECK(time_left_line(left, now).empty());
}

TEST_CASE("estimate: the line for a notice in other languages") {
  TimeLeft left;
  left.from = now;
  left.temperature = {HoursRange{0.4, 8, never_h}, {ClockLimit::Kind::water_above, 28.5}, ""};
  left.oxygen = {HoursRange{1.6, 3, 6.2}, oxygen_below_4, ""};
  CHECK(time_left_line(left, now, Language::german) ==
        "über 28,5 °C: in weniger als einer Stunde oder später, oder gar nicht; "
        "Sauerstoff unter 4 mg/l: in 1,5 bis 6 Stunden");
  CHECK(time_left_line(left, now + Span::of_h(1), Language::spanish) ==
        "por encima de 28,5 °C: quizá ya, o nunca; "
        "oxígeno por debajo de 4 mg/l: en menos de una hora a 5 horas");
}

TEST_CASE("estimate: the caution has its five points") {
  CHECK(time_left_caution().size() == 5);
}
