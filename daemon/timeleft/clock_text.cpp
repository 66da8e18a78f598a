#include <algorithm>
#include <cmath>

#include "text/rfc3339.h"
#include "timeleft/estimate.h"

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

std::string clock_text(const TankClock& clock, double hours_later) {
  if (!clock.range) return "no estimate: " + clock.refusal;
  const HoursRange rest = later_by(*clock.range, hours_later);
  if (std::isinf(rest.low_h)) return "not expected to get " + clock.limit;
  if (clock.range->high_h == 0) return clock.limit + " already";
  if (rest.high_h == 0) return "probably " + clock.limit + " by now";
  const bool may_never = std::isinf(rest.high_h);
  if (rest.low_h == 0) {
    return clock.limit + " perhaps by now, " +
           (may_never ? "or not at all" : "at the latest in " + hours_text(rest.high_h));
  }
  if (may_never) return clock.limit + " in " + hours_text(rest.low_h) + " or later, or not at all";
  return clock.limit + " in " + range_text(rest);
}

std::string time_left_line(const TimeLeft& left, WallTime now) {
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
    line += (line.empty() ? "" : "; ") + clock_text(*clock, passed_h);
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
