#include "store/hour_sum.h"

#include <algorithm>
#include <boost/json/array.hpp>
#include <boost/json/object.hpp>
#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <boost/json/string.hpp>
#include <cmath>
#include <cstdio>

namespace ebbwatch {
namespace {

namespace json = boost::json;

constexpr std::size_t readings_max = 64;  ///< Of one controller in one hour; later names are left.

void add_value(HourRow& hour, const std::string& name, double value) {
  if (!std::isfinite(value)) return;
  auto& all = hour.readings;
  auto at = std::lower_bound(all.begin(), all.end(), name,
                             [](const auto& one, const std::string& n) { return one.name < n; });
  if (at == all.end() || at->name != name) {
    if (all.size() >= readings_max) return;
    at = all.insert(at, {name, 0, value, 0, value});
  }
  ++at->count;
  at->least = std::min(at->least, value);
  at->most = std::max(at->most, value);
  at->mean += (value - at->mean) / static_cast<double>(at->count);
}

void add_readings(HourRow& hour, const std::string& text) {
  boost::system::error_code error;
  const auto value = json::parse(text, error);
  const auto* readings = error ? nullptr : value.if_object();
  if (readings == nullptr) return;
  for (const auto& [name, one] : *readings) {
    if (one.is_number()) add_value(hour, name, one.to_number<double>());
    if (!one.is_object()) continue;
    for (const auto& [device, number] : one.get_object()) {
      if (number.is_number())
        add_value(hour, std::string(name) + "." + std::string(device), number.to_number<double>());
    }
  }
}

std::string number_text(double value) {
  char text[40];
  std::snprintf(text, sizeof text, "%.7g", value);
  return text;
}

}  // namespace

WallTime hour_of(WallTime time) {
  const std::int64_t past = ((time.us % one_hour.us) + one_hour.us) % one_hour.us;
  return {time.us - past};
}

void add_to(HourRow& hour, const CheckInRow& row, std::optional<WallTime> before) {
  if (row.power == "battery") ++hour.on_battery;
  if (!row.readings_json.empty()) add_readings(hour, row.readings_json);
  if (row.buffered) {
    ++hour.buffered;
    return;
  }
  ++hour.heard;
  if (!hour.first) hour.first = row.at;
  hour.last = row.at;
  if (before) hour.longest_gap = std::max(hour.longest_gap, row.at - *before);
}

std::string readings_to_text(const std::vector<HourRow::Reading>& readings) {
  std::string out;
  for (const auto& one : readings) {
    out += (out.empty() ? "{" : ",") + json::serialize(json::string(one.name)) + ":[" +
           std::to_string(one.count) + "," + number_text(one.least) + "," + number_text(one.mean) +
           "," + number_text(one.most) + "]";
  }
  return out.empty() ? out : out + "}";
}

std::vector<HourRow::Reading> readings_from_text(const std::string& text) {
  std::vector<HourRow::Reading> readings;
  boost::system::error_code error;
  const auto value = json::parse(text, error);
  const auto* object = error ? nullptr : value.if_object();
  if (object == nullptr) return readings;
  for (const auto& [name, one] : *object) {
    const auto* parts = one.if_array();
    if (parts == nullptr || parts->size() != 4) continue;
    const auto part = [parts](std::size_t i) {
      return (*parts)[i].is_number() ? (*parts)[i].to_number<double>() : 0.0;
    };
    const double count = std::max(0.0, part(0));
    readings.push_back({name, static_cast<std::uint64_t>(count), part(1), part(2), part(3)});
  }
  return readings;
}

}  // namespace ebbwatch
