#include "cli/time_left_text.h"

#include <algorithm>
#include <boost/json/array.hpp>
#include <boost/json/object.hpp>
#include <boost/json/serialize.hpp>
#include <cmath>
#include <string_view>

#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

namespace json = boost::json;

constexpr std::size_t columns_max = 80;

std::size_t characters(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xC0) != 0x80;
  }));
}

/// `text` broken at spaces; the first line begins with `first`, the others as far in.
std::string wrapped(const std::string& first, std::string_view text) {
  const std::string indent(characters(first), ' ');
  std::string out, line = first;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(' '), text.size());
    const std::string_view word = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    const bool fresh = line == first || line == indent;
    if (!fresh && characters(line) + 1 + characters(word) > columns_max) {
      out += line + "\n";
      line = indent;
    } else if (!fresh) {
      line += ' ';
    }
    line += word;
  }
  return out + line + "\n";
}

double passed_hours(const TimeLeftReport& report) {
  return std::max(0.0, (report.now - report.left.from).seconds() / 3600);
}

std::string clock_lines(const char* label, const TankClock& clock, double passed_h) {
  std::string text = clock_text(clock, passed_h);
  if (clock.range) {
    const double middle_h = later_by(*clock.range, passed_h).middle_h;
    if (middle_h > 0 && !std::isinf(middle_h)) text += "; middle: " + hours_text(middle_h);
    if (std::isinf(middle_h) && !std::isinf(clock.range->low_h)) text += "; middle: not at all";
  }
  return wrapped(label, text + ".");
}

json::value hours_or_null(double hours) {
  if (std::isinf(hours)) return nullptr;
  return std::round(hours * 1000) / 1000;
}

json::object clock_json(const TankClock& clock, double passed_h) {
  json::object out;
  out["text"] = clock_text(clock, passed_h);
  if (!clock.range) {
    out["refusal"] = clock.refusal;
    return out;
  }
  out["limit"] = limit_text(clock.limit);
  out["low_h"] = hours_or_null(clock.range->low_h);
  out["middle_h"] = hours_or_null(clock.range->middle_h);
  out["high_h"] = hours_or_null(clock.range->high_h);
  return out;
}

json::array texts(const std::vector<std::string>& all) {
  json::array out;
  for (const std::string& one : all) out.emplace_back(one);
  return out;
}

const char* word(PowerKnown power) {
  if (power == PowerKnown::out) return "out";
  return power == PowerKnown::silent ? "unknown" : "on";
}

}  // namespace

std::string time_left_text(const TimeLeftReport& report) {
  const double passed_h = passed_hours(report);
  std::string out = wrapped("", report.name + " at " + report.site_name);
  out += wrapped("", power_condition(report.power, report.left.from, report.now)) + "\n";
  out += clock_lines("  oxygen       ", report.left.oxygen, passed_h);
  out += clock_lines("  temperature  ", report.left.temperature, passed_h);
  if (!report.left.assumptions.empty()) out += "\nThis assumes:\n";
  for (const std::string& one : report.left.assumptions) out += wrapped("- ", one);
  out += "\nTake care:\n";
  for (const std::string& one : time_left_caution()) out += wrapped("- ", one);
  return out;
}

std::string time_left_json(const TimeLeftReport& report) {
  json::object out;
  out["tank"] = report.tank;
  out["name"] = report.name;
  out["at"] = to_rfc3339(report.now);
  out["power"] = word(report.power);
  out["from"] = to_rfc3339(report.left.from);
  const double passed_h = passed_hours(report);
  out["oxygen"] = clock_json(report.left.oxygen, passed_h);
  out["temperature"] = clock_json(report.left.temperature, passed_h);
  out["assumptions"] = texts(report.left.assumptions);
  out["caution"] = texts(time_left_caution());
  return json::serialize(out);
}

}  // namespace ebbwatch
