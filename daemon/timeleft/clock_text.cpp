#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "text/rfc3339.h"
#include "timeleft/estimate.h"
#include "words/speech.h"

namespace ebbwatch {

std::string power_condition(PowerKnown power, WallTime from, WallTime now) {
  switch (power) {
    case PowerKnown::out:
      return "The power is out since " + time_of_day(from, now) + ".";
    case PowerKnown::silent:
      return "Nothing is heard since " + time_of_day(from, now) +
             ". If the power is out since then:";
    case PowerKnown::on:
      break;
  }
  return "If the power goes out now:";
}

std::string limit_text(const ClockLimit& limit, Language language) {
  std::array<char, 32> number{};
  std::snprintf(number.data(), number.size(), "%.1f", limit.value);
  std::string value = number.data();
  if (value.ends_with(".0")) value.resize(value.size() - 2);
  const Phrase which = limit.kind == ClockLimit::Kind::water_below   ? Phrase::water_below
                       : limit.kind == ClockLimit::Kind::water_above ? Phrase::water_above
                                                                     : Phrase::oxygen_below;
  return fill(phrase(language, which), {{"value", number_in(language, value)}});
}

std::string clock_text(const TankClock& clock, double hours_later, Language language) {
  if (!clock.range) return "no estimate: " + clock.refusal;
  const std::string limit = limit_text(clock.limit, language);
  const auto tell = [&](Phrase which, const std::string& hours) {
    return fill(phrase(language, which), {{"limit", limit}, {"hours", hours}});
  };
  const HoursRange rest = later_by(*clock.range, hours_later);
  if (std::isinf(rest.low_h)) return tell(Phrase::clock_not_expected, "");
  if (clock.range->high_h == 0) return tell(Phrase::clock_already, "");
  if (rest.high_h == 0) return tell(Phrase::clock_by_now, "");
  const bool may_never = std::isinf(rest.high_h);
  if (rest.low_h == 0) {
    if (may_never) return tell(Phrase::clock_perhaps_by_now, "");
    return tell(Phrase::clock_at_the_latest, hours_text(rest.high_h, language));
  }
  if (may_never) return tell(Phrase::clock_or_later, hours_text(rest.low_h, language));
  return tell(Phrase::clock_within, range_text(rest, language));
}

std::string time_left_line(const TimeLeft& left, WallTime now, Language language) {
  const double passed_h = std::max(0.0, (now - left.from).seconds() / 3600);
  const TankClock* first = &left.oxygen;
  const TankClock* second = &left.temperature;
  const auto low = [](const TankClock& clock) {
    return clock.range ? clock.range->low_h : never_h;
  };
  if (low(*second) < low(*first)) std::swap(first, second);
  std::string line;
  for (const TankClock* clock : {first, second}) {
    if (!clock->range) continue;
    line += (line.empty() ? "" : "; ") + clock_text(*clock, passed_h, language);
  }
  return line;
}

const std::vector<std::string>& time_left_caution() {
  static const std::vector<std::string> caution{
      "This is an estimate. Real tanks differ from it by a factor of two or more. Look at the "
      "animals: fish that gasp at the surface mean act now, whatever the figures say.",
      "Water and mains electricity can kill. Keep your hands out of the tank and off wet equipment "
      "while anything may be live. Unplug first, with dry hands; keep drip loops; use a "
      "residual-current (ground-fault) device.",
      "Follow your local electrical code and the makers' instructions, and leave wiring, "
      "generators and battery systems to a licensed electrician. Never run an engine indoors "
      "(carbon monoxide), and never feed a house from a generator without a transfer switch.",
      "Do not heat or cool fast: about 1 °C an hour at most. Do not feed while pumps stand still.",
      "For sick or dying animals ask an aquatic vet. No figure here replaces somebody who looks "
      "at the tank, and it must not be the only protection."};
  return caution;
}

}  // namespace ebbwatch
