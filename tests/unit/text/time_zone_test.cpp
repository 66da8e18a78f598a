// Against the C library's own reading of the same files, which is another program; the rules of
// single zones from the POSIX form itself.
#include "text/time_zone.h"

#include <doctest/doctest.h>

#include <cstdlib>
#include <ctime>
#include <fstream>
#include <iterator>

#include "text/rfc3339.h"
#include "text/time_zone_rule.h"

using namespace ebbwatch;

namespace {

const std::string folder = "/usr/share/zoneinfo/";

TimeZone zone(const std::string& name) {
  std::ifstream file(folder + name, std::ios::binary);
  const std::string bytes{std::istreambuf_iterator<char>(file), {}};
  const auto read = TimeZone::read(name, bytes);
  REQUIRE_MESSAGE(read.ok(), name);
  return read.value();
}

WallTime at(const std::string& text) {
  return from_rfc3339(text).value();
}

std::string next(const TimeZone& zone, int hour, int minute, const std::string& after) {
  return to_rfc3339(zone.next(hour * 60 + minute, at(after)));
}

}  // namespace

TEST_CASE("time zone: offsets are those of the C library from 1975 to 2075") {
  // Irregular ones among them: half hours, two changes a year around Ramadan, no changes, changes
  // of half an hour, south of the equator, and a change counted from the day before.
  for (const char* name :
       {"Europe/Berlin", "America/New_York", "Asia/Kolkata", "Africa/Casablanca", "Asia/Tokyo",
        "Australia/Lord_Howe", "Pacific/Auckland", "America/Nuuk", "Asia/Jerusalem", "UTC",
        "America/Sao_Paulo", "Europe/Dublin", "Pacific/Apia"}) {
    const TimeZone read = zone(name);
    const char* before = std::getenv("TZ");
    const std::string kept = before == nullptr ? "" : before;
    setenv("TZ", (":" + folder + name).c_str(), 1);
    tzset();
    int wrong = 0;
    for (std::time_t t = 157'766'400; t < 3'313'526'400; t += 10'799) {
      std::tm local{};
      localtime_r(&t, &local);
      const WallTime time{static_cast<std::int64_t>(t) * 1'000'000};
      const LocalTime ours = read.local(time);
      wrong += read.offset_at(time) != Span::of_s(local.tm_gmtoff) ||
               ours.minute != local.tm_hour * 60 + local.tm_min ||
               ours.weekday != (local.tm_wday + 6) % 7;
    }
    CHECK_MESSAGE(wrong == 0, name);
    before == nullptr ? unsetenv("TZ") : setenv("TZ", kept.c_str(), 1);
    tzset();
  }
}

TEST_CASE("time zone: the next time of day, also on the days when clocks change") {
  const TimeZone berlin = zone("Europe/Berlin");
  CHECK(next(berlin, 8, 0, "2026-01-10T06:59:59Z") == "2026-01-10T07:00:00.000Z");
  CHECK(next(berlin, 8, 0, "2026-01-10T07:00:00Z") == "2026-01-11T07:00:00.000Z");
  CHECK(next(berlin, 8, 0, "2026-07-10T05:00:00Z") == "2026-07-10T06:00:00.000Z");
  CHECK(next(berlin, 0, 0, "2026-07-10T21:59:00Z") == "2026-07-10T22:00:00.000Z");
  // 29 March 2026: from 02:00 to 03:00 there is none; 25 October: 02:30 comes twice.
  CHECK(next(berlin, 2, 30, "2026-03-28T12:00:00Z") == "2026-03-29T01:00:00.000Z");
  CHECK(next(berlin, 2, 30, "2026-03-29T01:00:00Z") == "2026-03-30T00:30:00.000Z");
  CHECK(next(berlin, 2, 30, "2026-10-24T12:00:00Z") == "2026-10-25T00:30:00.000Z");
  CHECK(next(berlin, 2, 30, "2026-10-25T00:30:00Z") == "2026-10-26T01:30:00.000Z");
  CHECK(next(zone("Pacific/Auckland"), 9, 0, "2026-01-01T00:00:00Z") == "2026-01-01T20:00:00.000Z");
  CHECK(next(TimeZone{}, 9, 0, "2026-01-01T09:30:00Z") == "2026-01-02T09:00:00.000Z");
}

TEST_CASE("time zone: what is no such file is refused, at every length") {
  std::ifstream file(folder + "Europe/Berlin", std::ios::binary);
  const std::string bytes{std::istreambuf_iterator<char>(file), {}};
  const std::size_t footer = bytes.rfind('\n', bytes.size() - 2);
  for (std::size_t size = 0; size < footer; ++size) {
    CHECK_FALSE(TimeZone::read("x", std::string_view(bytes).substr(0, size)).ok());
  }
  CHECK_FALSE(TimeZone::read("x", "not a time zone at all, but some other text, long enough").ok());
}

TEST_CASE("time zone: rules that are not in the form are refused") {
  for (const char* good :
       {"CET-1CEST,M3.5.0,M10.5.0/3", "<+0330>-3:30", "IST-1GMT0,M10.5.0,M3.5.0/1",
        "<-02>2<-01>,M3.5.0/-1,M10.5.0/0", "ABC5DEF,J60/0,J300", "ABC5DEF,0,365"}) {
    CHECK_MESSAGE(ZoneRule::parse(good).has_value(), good);
  }
  for (const char* bad :
       {"", "C1", "CET", "CET-1CEST", "CET-1CEST,M3.5.0", "CET-1CEST,M13.5.0,M1.1.1",
        "CET-1CEST,M3.5.0,M10.5.0/3x", "<+03", "CET-999", "CET-1CEST,J0,J1"}) {
    CHECK_MESSAGE(!ZoneRule::parse(bad).has_value(), bad);
  }
}
