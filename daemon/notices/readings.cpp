#include <array>
#include <boost/json/parse.hpp>
#include <boost/json/value.hpp>
#include <cmath>
#include <cstdio>
#include <string>
#include <vector>

#include "notices/lines.h"
#include "notices/story.h"

namespace ebbwatch {
namespace {

namespace json = boost::json;

struct KnownReading {
  const char* key;
  const char* before;
  const char* after;
};
constexpr std::array<KnownReading, 6> known_readings{{{"temperature_c", "water ", " °C"},
                                                      {"room_temperature_c", "room ", " °C"},
                                                      {"ph", "pH ", ""},
                                                      {"salinity_ppt", "salinity ", " ppt"},
                                                      {"orp_mv", "ORP ", " mV"},
                                                      {"oxygen_mg_l", "oxygen ", " mg/l"}}};
constexpr std::size_t values_max = 8;
constexpr std::size_t name_columns_max = 20;

// At most two decimals, without idle zeros: 25.4, 8.07, 450.
std::string number_text(double value) {
  std::array<char, 64> buffer{};
  std::snprintf(buffer.data(), buffer.size(), "%.2f", value);
  std::string text(buffer.data());
  while (text.ends_with('0')) text.pop_back();
  if (text.ends_with('.')) text.pop_back();
  return text == "-0" ? "0" : text;
}

void add(std::vector<std::string>& parts, const std::string& before, const json::value& value,
         const char* after) {
  if (parts.size() == values_max || !value.is_number()) return;
  const double number = value.to_number<double>();
  if (!std::isfinite(number) || std::fabs(number) > 1e9) return;
  parts.push_back(before + number_text(number) + after);
}

bool is_known(json::string_view key) {
  for (const KnownReading& known : known_readings) {
    if (key == known.key) return true;
  }
  return key == "watts";
}

std::string label(json::string_view key) {
  const std::string name = one_line(std::string_view(key.data(), key.size()));
  return shorten(name, name_columns_max, columns) + " ";
}

}  // namespace

std::string readings_text(const std::string& readings_json) {
  boost::system::error_code failed;
  const json::value parsed = json::parse(readings_json, failed);
  if (failed || !parsed.is_object()) return "";
  const json::object& readings = parsed.get_object();
  std::vector<std::string> parts;
  for (const KnownReading& known : known_readings) {
    if (const json::value* value = readings.if_contains(known.key)) {
      add(parts, known.before, *value, known.after);
    }
  }
  if (const json::value* watts = readings.if_contains("watts"); watts && watts->is_object()) {
    for (const auto& [key, value] : watts->get_object()) add(parts, label(key), value, " W");
  }
  for (const auto& [key, value] : readings) {
    if (!is_known(key)) add(parts, label(key), value, "");
  }
  std::string text;
  for (const std::string& part : parts) text += (text.empty() ? "" : ", ") + part;
  return text;
}

}  // namespace ebbwatch
