// The limits of readings: a mapping with a reading's name for each key.
#include <algorithm>

#include "core/limits.h"
#include "settings/keys.h"
#include "settings/values.h"

namespace ebbwatch {
namespace {

constexpr double value_max = 1'000'000;
constexpr double percent_max = 1000;
constexpr Span delay_min = Span::of_s(1);
constexpr Span delay_max = Span::of_days(7);

ReadValue<double> any_number() {
  return number(-value_max, true, value_max);
}

/// A share that is written in percent.
ReadValue<double> percent() {
  return [](Reader& reader, const Cursor& at, double& out) {
    if (!number(0, false, percent_max)(reader, at, out)) return false;
    out /= 100;
    return true;
  };
}

const Keys<ReadingLimits>& limit_keys() {
  static const Keys<ReadingLimits> keys =
      Keys<ReadingLimits>()
          .key("low", &ReadingLimits::low, any_number())
          .key("high", &ReadingLimits::high, any_number())
          .key("deadband", &ReadingLimits::deadband, number(0, true, value_max))
          .key("on_delay", &ReadingLimits::on_delay, span(delay_min, delay_max))
          .key("off_delay", &ReadingLimits::off_delay, span(delay_min, delay_max))
          .key("above_usual_percent", &ReadingLimits::above_usual, percent())
          .key("below_usual_percent", &ReadingLimits::below_usual, percent())
          .key("unchanged_for", &ReadingLimits::unchanged_for, span(delay_min, delay_max))
          .key("missing_for", &ReadingLimits::missing_for, span(delay_min, delay_max));
  return keys;
}

void check_limits(Reader& reader, const Cursor& at, const ReadingLimits& limits) {
  if (limits.low && limits.high && *limits.low >= *limits.high) {
    reader.problem(at, "a low that is not below the high", "low below high");
    return;
  }
  const double room = limits.low && limits.high ? *limits.high - *limits.low : value_max;
  if (limits.deadband * 2 >= room) {
    reader.problem(at, "a deadband of half the room between low and high, or more",
                   "a smaller deadband", "Else a reading could never be normal again.");
  }
}

}  // namespace

bool reading_limits(Reader& reader, const Cursor& at, std::vector<ReadingSettings>& out) {
  if (at.node->kind != YamlNode::Kind::mapping) {
    reader.problem(at, describe(*at.node), "a mapping of readings to their limits",
                   "For example: readings: {temperature_c: {low: 23, high: 28}}");
    return false;
  }
  std::vector<KeyInfo> names;
  for (const auto& entry : at.node->entries) {
    const auto same = [&](const KeyInfo& known) { return known.name == entry.key; };
    if (std::none_of(names.begin(), names.end(), same)) names.push_back({entry.key, false, {}});
  }
  return reader.walk_mapping(at, names, [&](std::size_t i, const Cursor& value) {
    ReadingSettings one;
    one.name = names[i].name;
    if (one.name.empty() || one.name.size() > limits::name_chars_max) {
      reader.problem(value, "a name of " + std::to_string(one.name.size()) + " bytes",
                     "the name of a reading, 1 to 80 bytes");
      return;
    }
    if (one.name == "watts") {
      reader.problem(value, "watts of nothing", "watts and the device's name",
                     "For example: watts.return-pump.");
      return;
    }
    if (!limit_keys().fill(reader, value, one.limits)) return;
    check_limits(reader, value, one.limits);
    out.push_back(std::move(one));
  });
}

}  // namespace ebbwatch
