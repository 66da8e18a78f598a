#include "notifiers/retry_after.h"

#include <doctest/doctest.h>

#include "core/limits.h"

using namespace ebbwatch;

namespace {
constexpr WallTime at(std::int64_t unix_s) {
  return {unix_s * 1'000'000};
}
constexpr WallTime in_1994 = at(784'000'000);
}  // namespace

// RFC 9110 §10.2.3: both of its examples.
TEST_CASE("retry_after: seconds and dates") {
  CHECK(parse_retry_after("120", at(0)) == Span::of_s(120));
  CHECK(parse_retry_after("Fri, 31 Dec 1999 23:59:59 GMT", at(946'684'799 - 60)) == Span::of_s(60));
}

TEST_CASE("retry_after: what is malformed is ignored") {
  for (const char* value : {"", "-1", "1.5", "12 s", "+3", "0x10", "soon", "Fri, 31 Dec 1999",
                            "Fri, 31 Dec 1999 23:59:59 CET", "Fri, 31 Foo 1999 23:59:59 GMT",
                            "Fri, 32 Dec 1999 23:59:59 GMT", "Fri, 31 Dec 1999 24:59:59 GMT",
                            "Fri, -1 Dec 1999 23:59:59 GMT"}) {
    CAPTURE(value);
    CHECK_FALSE(parse_retry_after(value, at(0)).has_value());
  }
}

TEST_CASE("retry_after: the wait is between none and an hour") {
  CHECK(parse_retry_after("0", at(0)) == Span{});
  CHECK(parse_retry_after("3600", at(0)) == limits::retry_after_max);
  CHECK(parse_retry_after("86400", at(0)) == limits::retry_after_max);
  CHECK(parse_retry_after("99999999999999999999999", at(0)) == limits::retry_after_max);
  CHECK(parse_retry_after("Fri, 31 Dec 1999 23:59:59 GMT", at(1'700'000'000)) == Span{});
  CHECK(parse_retry_after("Fri, 31 Dec 2999 23:59:59 GMT", at(0)) == limits::retry_after_max);
}

// RFC 9110 §5.6.7: the same moment in the three forms.
TEST_CASE("retry_after: the three forms of a date") {
  constexpr WallTime expected = at(784'111'777);
  CHECK(parse_http_date("Sun, 06 Nov 1994 08:49:37 GMT", in_1994) == expected);
  CHECK(parse_http_date("Sunday, 06-Nov-94 08:49:37 GMT", in_1994) == expected);
  CHECK(parse_http_date("Sun Nov  6 08:49:37 1994", in_1994) == expected);
  CHECK(parse_http_date("Thu, 01 Jan 1970 00:00:00 GMT", in_1994) == at(0));
  CHECK(parse_http_date("Tue Feb 29 12:00:00 2000", in_1994) == at(951'825'600));
}

TEST_CASE("retry_after: a two-digit year more than 50 years ahead is in the past") {
  // Seen in 2023, 94 would be 2094: 71 years ahead.
  CHECK(parse_http_date("Sunday, 06-Nov-94 08:49:37 GMT", at(1'700'000'000)) == at(784'111'777));
  // 2030-11-06
  CHECK(parse_http_date("Wednesday, 06-Nov-30 08:49:37 GMT", at(1'700'000'000)) ==
        at(1'920'185'377));
}
