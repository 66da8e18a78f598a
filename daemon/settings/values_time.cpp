// Readers of times of day and of time zones.
#include "settings/files.h"
#include "settings/values.h"

namespace ebbwatch {
namespace {

constexpr const char* zone_folder = "/usr/share/zoneinfo/";
constexpr std::size_t zone_bytes_max = 1024 * 1024;

Result<TimeZone> read_zone(const std::string& path, const std::string& name) {
  const auto content = read_file(path, zone_bytes_max);
  if (!content) return content.error();
  return TimeZone::read(name, content.value());
}

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

int days_in(int year, unsigned month) {
  const bool last = month == 12;
  return static_cast<int>(day_of(last ? year + 1 : year, last ? 1 : month + 1, 1) -
                          day_of(year, month, 1));
}

// Names of the database have no dots; without them no path leads out of its folder.
bool is_zone_name(const std::string& name) {
  return !name.empty() && name.front() != '/' && name.find('.') == std::string::npos;
}

}  // namespace

bool time_of_day_minute(Reader& reader, const Cursor& at, std::int32_t& out) {
  const std::string& text = at.node->text;
  const bool formed = at.node->kind == YamlNode::Kind::scalar && text.size() == 5 &&
                      is_digit(text[0]) && is_digit(text[1]) && text[2] == ':' &&
                      is_digit(text[3]) && is_digit(text[4]);
  const int hour = formed ? (text[0] - '0') * 10 + text[1] - '0' : 24;
  const int minute = formed ? (text[3] - '0') * 10 + text[4] - '0' : 60;
  if (hour < 24 && minute < 60) return out = hour * 60 + minute, true;
  reader.problem(at, describe(*at.node), "a time of day from \"00:00\" to \"23:59\"");
  return false;
}

bool calendar_day(Reader& reader, const Cursor& at, std::int64_t& out) {
  const std::string& text = at.node->text;
  const auto number_at = [&text](std::size_t from, std::size_t count) {
    int value = 0;
    for (std::size_t i = from; i < from + count; ++i) {
      value = is_digit(text[i]) ? value * 10 + text[i] - '0' : -100'000;
    }
    return value;
  };
  const bool formed = at.node->kind == YamlNode::Kind::scalar && text.size() == 10 &&
                      text[4] == '-' && text[7] == '-';
  const int year = formed ? number_at(0, 4) : 0;
  const int month = formed ? number_at(5, 2) : 0, day = formed ? number_at(8, 2) : 0;
  const bool known = year >= 1970 && month >= 1 && month <= 12 && day >= 1 &&
                     day <= days_in(year, static_cast<unsigned>(month));
  if (known) {
    out = day_of(year, static_cast<unsigned>(month), static_cast<unsigned>(day));
    return true;
  }
  reader.problem(at, describe(*at.node), "a day such as \"2026-12-25\"");
  return false;
}

bool time_zone(Reader& reader, const Cursor& at, TimeZone& out) {
  const std::string& name = at.node->text;
  if (at.node->kind == YamlNode::Kind::scalar && is_zone_name(name)) {
    auto zone = read_zone(zone_folder + name, name);
    if (zone) return out = std::move(zone.value()), true;
  }
  reader.problem(at, describe(*at.node), "the name of a time zone such as Europe/Berlin",
                 std::string("The folder ") + zone_folder + " has all of them (package tzdata).");
  return false;
}

TimeZone machine_time_zone() {
  auto zone = read_zone("/etc/localtime", "local");
  return zone ? std::move(zone.value()) : TimeZone{};
}

}  // namespace ebbwatch
