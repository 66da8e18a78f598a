#include "text/rfc3339.h"

#include <doctest/doctest.h>

#include <cstdlib>
#include <ctime>

using namespace ebbwatch;

namespace {
std::optional<std::int64_t> us_of(const char* text) {
  const auto time = from_rfc3339(text);
  if (!time) return std::nullopt;
  return time->us;
}
}  // namespace

TEST_CASE("rfc3339: the examples of RFC 3339 section 5.8") {
  CHECK(us_of("1985-04-12T23:20:50.52Z") == 482'196'050'520'000);
  CHECK(us_of("1996-12-19T16:39:57-08:00") == 851'042'397'000'000);
  CHECK(us_of("1996-12-20T00:39:57Z") == 851'042'397'000'000);
  CHECK(us_of("1990-12-31T23:59:60Z") == 662'688'000'000'000);
  CHECK(us_of("1990-12-31T15:59:60-08:00") == 662'688'000'000'000);
  CHECK(us_of("1937-01-01T12:00:27.87+00:20") == -1'041'337'172'130'000);
}

TEST_CASE("rfc3339: lower case, unknown offset, 1 to 9 digits of fraction") {
  CHECK(us_of("1970-01-01t00:00:01z") == 1'000'000);
  CHECK(us_of("1970-01-01T00:00:01-00:00") == 1'000'000);
  CHECK(us_of("1970-01-01T00:00:00.123456789Z") == 123'456);
  CHECK(us_of("1970-01-01T00:00:00.1Z") == 100'000);
  CHECK(us_of("2024-02-29T00:00:00Z") == 1'709'164'800'000'000);
}

TEST_CASE("rfc3339: what is malformed or no real date is refused") {
  for (const char* text : {"",
                           "2022",
                           "2022-02-22",
                           "2022-02-22T19:22:22",
                           "2022-02-22 19:22:22Z",
                           "2023-02-29T00:00:00Z",
                           "2022-13-01T00:00:00Z",
                           "2022-00-01T00:00:00Z",
                           "2022-04-31T00:00:00Z",
                           "2022-02-22T24:00:00Z",
                           "2022-02-22T19:60:00Z",
                           "2022-02-22T19:22:61Z",
                           "2022-02-22T19:22:60Z",
                           "2022-02-22T19:22:22.Z",
                           "2022-02-22T19:22:22.1234567890Z",
                           "2022-02-22T19:22:22+24:00",
                           "2022-02-22T19:22:22+01",
                           "2022-02-22T19:22:22+01:60",
                           "2022-02-22T19:22:22Zx",
                           " 2022-02-22T19:22:22Z",
                           "2022-2-22T19:22:22Z",
                           "+022-02-22T19:22:22Z"}) {
    CAPTURE(text);
    CHECK_FALSE(from_rfc3339(text).has_value());
  }
}

TEST_CASE("rfc3339: written in UTC with milliseconds, rounded down also before 1970") {
  CHECK(to_rfc3339(WallTime{1'645'557'742'000'999}) == "2022-02-22T19:22:22.000Z");
  CHECK(to_rfc3339(WallTime{-1}) == "1969-12-31T23:59:59.999Z");
  CHECK(to_rfc3339(WallTime{0}) == "1970-01-01T00:00:00.000Z");
}

TEST_CASE("rfc3339: writing and reading return the same millisecond") {
  for (std::int64_t ms = -5'000'000'000'000; ms < 5'000'000'000'000; ms += 86'399'999'123) {
    const WallTime time{ms * 1000};
    CHECK(from_rfc3339(to_rfc3339(time)) == time);
  }
}

TEST_CASE("mail date: RFC 5322 section 3.3 in UTC") {
  CHECK(to_mail_date(WallTime{1'645'557'742'000'000}) == "Tue, 22 Feb 2022 19:22:22 +0000");
  // RFC 5322 appendix A.1.1 writes "Fri, 21 Nov 1997 09:55:06 -0600".
  CHECK(to_mail_date(*from_rfc3339("1997-11-21T09:55:06-06:00")) ==
        "Fri, 21 Nov 1997 15:55:06 +0000");
}

TEST_CASE("time of day: in the machine's zone, with the date when more than 20 hours away") {
  setenv("TZ", "XST-5:30", 1);
  tzset();
  const WallTime time = *from_rfc3339("2022-02-22T19:22:22Z");
  CHECK(time_of_day(time, time) == "00:52");
  CHECK(time_of_day(time, time + Span::of_h(20)) == "00:52");
  CHECK(time_of_day(time, time + Span::of_h(21)) == "23 Feb 00:52");
  CHECK(time_of_day(time, time - Span::of_h(21)) == "23 Feb 00:52");
  setenv("TZ", "UTC0", 1);
  tzset();
}
