#include "text/duration.h"

#include <doctest/doctest.h>

#include <string>
#include <vector>

using namespace ebbwatch;

TEST_CASE("duration: every unit, whole and decimal numbers") {
  const std::vector<std::pair<const char*, std::int64_t>> cases{{"1ms", 1'000},
                                                                {"90s", 90'000'000},
                                                                {"2.5min", 150'000'000},
                                                                {"0min", 0},
                                                                {"1h", 3'600'000'000},
                                                                {"1d", 86'400'000'000},
                                                                {"0.5ms", 500},
                                                                {"0.25h", 900'000'000},
                                                                {"007s", 7'000'000},
                                                                {"1.1s", 1'100'000},
                                                                {"36600d", 3'162'240'000'000'000}};
  for (const auto& [text, us] : cases) {
    CAPTURE(text);
    const auto read = parse_duration(text);
    REQUIRE(read.ok());
    CHECK(read.value().us == us);
  }
}

TEST_CASE("duration: a bare number is an error that says which units exist") {
  const auto read = parse_duration("90");
  REQUIRE_FALSE(read.ok());
  CHECK(read.error().text ==
        "\"90\" is not a duration: the unit is missing (units: ms, s, min, h, d)");
}

TEST_CASE("duration: malformed texts are refused with the remedy") {
  for (const char* text : {"", "s", "-5s", "+5s", "5 s", " 5s", "5s ", "1e3s", ".5s", "5.s", "5m",
                           "5S", "5min30s", "nan", "infs", "36601d", "99999999999999999999999d"}) {
    CAPTURE(text);
    const auto read = parse_duration(text);
    REQUIRE_FALSE(read.ok());
    CHECK(read.error().code == Errc::bad_input);
    CHECK(read.error().text.find("is not a duration: ") != std::string::npos);
  }
  CHECK(parse_duration("5m").error().text ==
        "\"5m\" is not a duration: unknown unit \"m\" (units: ms, s, min, h, d)");
}

TEST_CASE("duration: written in the largest unit that is exact") {
  CHECK(duration_text(Span::of_s(90)) == "90s");
  CHECK(duration_text(Span::of_min(5)) == "5min");
  CHECK(duration_text(Span::of_min(60)) == "1h");
  CHECK(duration_text(Span::of_h(48)) == "2d");
  CHECK(duration_text(Span::of_ms(1500)) == "1500ms");
  CHECK(duration_text(Span::of_us(1'500)) == "1.5ms");
  CHECK(duration_text(Span{}) == "0s");
}

TEST_CASE("duration: what is written reads back as the same span") {
  for (std::int64_t us : {1LL, 999LL, 1'000LL, 61'000'000LL, 7'200'000'000LL, 86'400'000'001LL}) {
    CAPTURE(us);
    const auto read = parse_duration(duration_text(Span{us}));
    REQUIRE(read.ok());
    CHECK(read.value().us == us);
  }
}
