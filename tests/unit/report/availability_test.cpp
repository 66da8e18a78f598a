#include "report/availability.h"

#include <doctest/doctest.h>

#include <random>

#include "sample.h"

using namespace ebbwatch;
using namespace ebbwatch::report;

namespace {

std::vector<Stretch> hours(std::initializer_list<std::pair<int, int>> pairs) {
  std::vector<Stretch> out;
  for (const auto& [a, b] : pairs) out.push_back({WallTime{a}, WallTime{b}});
  return out;
}

const Stretch day{WallTime{0}, WallTime{24}};

}  // namespace

TEST_CASE("availability: overlapping and touching stretches become one, cut to the report") {
  CHECK(joined(hours({{5, 7}, {1, 3}, {2, 4}, {4, 5}, {20, 30}, {-3, 0}, {9, 9}}), day) ==
        hours({{1, 7}, {20, 24}}));
  CHECK(less(hours({{0, 10}}), hours({{2, 3}, {5, 6}, {9, 12}})) ==
        hours({{0, 2}, {3, 5}, {6, 9}}));
  CHECK(less(hours({{0, 10}}), hours({{-1, 11}})).empty());
}

TEST_CASE("availability: stretches agree with counting hour by hour") {
  std::mt19937 random(20261005);
  for (int round = 0; round < 300; ++round) {
    std::vector<Stretch> lost, gaps;
    bool is_lost[24] = {}, is_gap[24] = {};
    const auto add = [&](std::vector<Stretch>& to, bool(&hour)[24]) {
      const int a = static_cast<int>(random() % 24), b = a + static_cast<int>(random() % 6);
      to.push_back({WallTime{a}, WallTime{b}});
      for (int h = a; h < b && h < 24; ++h) hour[h] = true;
    };
    for (auto n = random() % 5; n > 0; --n) add(lost, is_lost);
    for (auto n = random() % 4; n > 0; --n) add(gaps, is_gap);
    std::int64_t counted = 0;
    for (int h = 0; h < 24; ++h) counted += is_lost[h] && !is_gap[h] ? 1 : 0;
    CHECK(length(less(joined(lost, day), joined(gaps, day))).us == counted);
  }
}

TEST_CASE("availability: the watcher's own gaps never count against a tank") {
  const Record record = test::sample_month();
  const auto times = tank_times(record);
  REQUIRE(times.size() == 3);
  const TankTime& lagoon = times[0];
  CHECK(lagoon.unwatched == Span::of_h(1));
  CHECK(lagoon.watched == Span::of_days(31) - Span::of_h(1));
  CHECK(lagoon.lost == Span::of_min(72 + 30));
  CHECK(lagoon.outages == 2);
  // A tank that lies wholly in contact has all of it, whatever the watcher missed.
  CHECK(times[1].availability() == 1.0);
  CHECK(times[1].watched == Span::of_days(16));
  CHECK(times[1].unwatched == Span{});
  CHECK_FALSE(times[2].availability().has_value());
}

TEST_CASE("availability: an outage that goes on counts up to the end of the report") {
  Record record = test::sample_month();
  record.outages.resize(1);
  record.outages[0].since = record.until - Span::of_h(2);
  record.outages[0].returned.reset();
  CHECK(tank_times(record)[0].lost == Span::of_h(2));
}

TEST_CASE("availability: shares are rounded down, so only a tank never lost has 100 %") {
  CHECK(percent_text(1.0) == "100.000 %");
  CHECK(percent_text(0.9999999) == "99.999 %");
  CHECK(percent_text(0.99987) == "99.987 %");
  CHECK(percent_text(0.0) == "0.000 %");
  CHECK(percent_text(std::nullopt) == "-");
}
