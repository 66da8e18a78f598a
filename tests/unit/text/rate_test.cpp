#include "text/rate.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

TEST_CASE("rate: a number per day, week, month or year") {
  REQUIRE(parse_rate("1 per year").ok());
  CHECK(parse_rate("1 per year").value() == Rate{1, Rate::Per::year});
  CHECK(parse_rate("3 per month").value().per_year() == doctest::Approx(36));
  CHECK(parse_rate("2 per day").value().per_year() == doctest::Approx(730));
  CHECK(parse_rate("1 per week").value().per_year() == doctest::Approx(52.142857));
}

TEST_CASE("rate: what is written can be read again") {
  for (const char* text : {"1 per year", "12 per month", "1000 per week", "7 per day"}) {
    REQUIRE(parse_rate(text).ok());
    CHECK(rate_text(parse_rate(text).value()) == text);
  }
}

TEST_CASE("rate: other forms are refused") {
  for (const char* text : {"", "1", "per year", "0 per year", "-1 per year", "1.5 per year",
                           "1/year", "1 per years", "1 per hour", "1001 per year", "1  per year",
                           " 1 per year", "1 per year ", "99999999999999 per year", "never"}) {
    CAPTURE(text);
    CHECK_FALSE(parse_rate(text).ok());
  }
}
