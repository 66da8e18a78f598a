#include <array>
#include <boost/json/parse.hpp>
#include <boost/json/value.hpp>
#include <cmath>
#include <cstdio>
#include <string>

#include "notices/lines.h"
#include "notices/story.h"
#include "words/speech.h"

namespace ebbwatch {
namespace {

namespace json = boost::json;

struct KnownReading {
  const char* key;
  Phrase told;
  const char* unit;
};
constexpr std::array<KnownReading, 6> known_readings{
    {{"temperature_c", Phrase::reading_water, " °C"},
     {"room_temperature_c", Phrase::reading_room, " °C"},
     {"ph", Phrase::reading_ph, ""},
     {"salinity_ppt", Phrase::reading_salinity, " ppt"},
     {"orp_mv", Phrase::reading_orp, " mV"},
     {"oxygen_mg_l", Phrase::reading_oxygen, " mg/l"}}};
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

class ReadingList {
 public:
  explicit ReadingList(Language language) : language_(language) {}

  void add(Phrase told, const std::string& name, const json::value& value) {
    if (count_ == values_max || !value.is_number()) return;
    const double number = value.to_number<double>();
    if (!std::isfinite(number) || std::fabs(number) > 1e9) return;
    const std::string words = number_in(language_, number_text(number));
    text_ += (count_ == 0 ? "" : ", ") +
             fill(phrase(language_, told), {{"name", name}, {"value", words}});
    ++count_;
  }
  const std::string& text() const { return text_; }

 private:
  Language language_;
  std::size_t count_ = 0;
  std::string text_;
};

bool is_known(json::string_view key) {
  for (const KnownReading& known : known_readings) {
    if (key == known.key) return true;
  }
  return key == "watts";
}

std::string label(std::string_view key) {
  const std::string name = one_line(key);
  return shorten(name, name_columns_max, columns);
}

constexpr std::string_view watts_of = "watts.";

}  // namespace

std::string reading_text(const std::string& name, double value, Language language) {
  ReadingList list(language);
  const json::value number(value);
  for (const KnownReading& known : known_readings) {
    if (name == known.key) list.add(known.told, "", number);
  }
  if (name.starts_with(watts_of)) {
    list.add(Phrase::reading_watts, label(name.substr(watts_of.size())), number);
  }
  if (list.text().empty()) list.add(Phrase::reading_other, label(name), number);
  return list.text();
}

std::string reading_value(const std::string& name, double value, Language language) {
  const std::string number = number_in(language, number_text(value));
  for (const KnownReading& known : known_readings) {
    if (name == known.key) return number + known.unit;
  }
  return number + (name.starts_with(watts_of) ? " W" : "");
}

std::string readings_text(const std::string& readings_json, Language language) {
  boost::system::error_code failed;
  const json::value parsed = json::parse(readings_json, failed);
  if (failed || !parsed.is_object()) return "";
  const json::object& readings = parsed.get_object();
  ReadingList list(language);
  for (const KnownReading& known : known_readings) {
    if (const json::value* value = readings.if_contains(known.key)) {
      list.add(known.told, "", *value);
    }
  }
  if (const json::value* watts = readings.if_contains("watts"); watts && watts->is_object()) {
    for (const auto& [key, value] : watts->get_object()) {
      list.add(Phrase::reading_watts, label(key), value);
    }
  }
  for (const auto& [key, value] : readings) {
    if (!is_known(key)) list.add(Phrase::reading_other, label(key), value);
  }
  return list.text();
}

}  // namespace ebbwatch
