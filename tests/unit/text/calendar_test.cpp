#include "text/calendar.h"

#include <doctest/doctest.h>

#include <cstdlib>
#include <ctime>

#include "text/rfc3339.h"

using namespace ebbwatch;

namespace {

void use_zone(const char* zone) {
  setenv("TZ", zone, 1);
  tzset();
}

std::string labels(const std::vector<TimeMark>& marks) {
  std::string out;
  for (const auto& mark : marks) out += (out.empty() ? "" : ", ") + mark.label;
  return out;
}

WallTime at(const char* text) {
  return *from_rfc3339(text);
}

}  // namespace

TEST_CASE("calendar: a month begins and ends at local midnight, summer time or not") {
  use_zone("CET-1CEST,M3.5.0,M10.5.0/3");
  const auto month = local_month("2026-10");
  REQUIRE(month.has_value());
  CHECK(to_rfc3339(month->from) == "2026-09-30T22:00:00.000Z");
  CHECK(to_rfc3339(month->until) == "2026-10-31T23:00:00.000Z");
  CHECK(month->name == "October 2026");
  CHECK(local_month("2026-12")->until == *local_day("2027-01-01"));
  for (const char* wrong : {"2026-13", "2026-1", "october", "", "2026-00", "2026-10-01"}) {
    CHECK_FALSE(local_month(wrong).has_value());
  }
  CHECK(month_before(at("2026-01-15T00:00:00Z")) == "2025-12");
  CHECK(month_before(at("2026-03-31T12:00:00Z")) == "2026-02");
}

TEST_CASE("calendar: the day after a day is the next midnight even when that is 25 h away") {
  use_zone("CET-1CEST,M3.5.0,M10.5.0/3");
  CHECK(*local_day("2026-10-25", 1) - *local_day("2026-10-25") == Span::of_h(25));
  CHECK_FALSE(local_day("2026-02-30").has_value());
  CHECK_FALSE(local_day("yesterday").has_value());
}

TEST_CASE("calendar: a moment as a form sends it is of the time zone here") {
  use_zone("CET-1CEST,M3.5.0,M10.5.0/3");
  CHECK(to_rfc3339(*local_moment("2026-11-25T14:02")) == "2026-11-25T13:02:00.000Z");
  CHECK(to_rfc3339(*local_moment("2026-07-01T00:00")) == "2026-06-30T22:00:00.000Z");
  for (const char* wrong :
       {"2026-11-25 14:02", "2026-11-25T25:00", "2026-11-25T14:02:01", "", "tomorrow"}) {
    CHECK_FALSE(local_moment(wrong).has_value());
  }
}

TEST_CASE("calendar: marks are round times, as many as there is room for") {
  use_zone("UTC");
  CHECK(labels(time_marks(at("2026-02-22T09:10:00Z"), at("2026-02-22T14:00:00Z"), 6)) ==
        "10:00, 11:00, 12:00, 13:00, 14:00");
  CHECK(labels(time_marks(at("2026-02-22T09:10:00Z"), at("2026-02-23T09:10:00Z"), 6)) ==
        "12:00, 18:00, 23 Feb, 06:00");
  CHECK(labels(time_marks(at("2026-10-01T00:00:00Z"), at("2026-11-01T00:00:00Z"), 8)) ==
        "1 Oct, 8 Oct, 15 Oct, 22 Oct, 29 Oct");
  use_zone("CET-1CEST,M3.5.0,M10.5.0/3");
  CHECK(labels(time_marks(*local_day("2026-10-25"), *local_day("2026-10-26"), 6)) ==
        "25 Oct, 06:00, 12:00, 18:00, 26 Oct");
  use_zone("UTC");
}
