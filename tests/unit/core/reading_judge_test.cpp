// Limits of readings: delays and deadband, what is usual, frozen and missing values.
#include "core/reading_judge.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <string>
#include <vector>

namespace ebbwatch {
namespace {

Instant at_min(double minutes) {
  return Instant{} + Span::of_seconds(minutes * 60);
}

ReadingLimits band() {
  ReadingLimits limits;
  limits.low = 23;
  limits.high = 28;
  limits.deadband = 0.3;
  limits.on_delay = Span::of_min(10);
  limits.off_delay = Span::of_min(5);
  return limits;
}

/// A value a minute from minute `from` on. @return the changes, as "12 high since 2".
std::vector<std::string> feed(ReadingJudge& judge, double from, const std::vector<double>& values) {
  std::vector<std::string> told;
  for (const double value : values) {
    if (const auto change = judge.value(at_min(from), value)) {
      const auto minute = [](Instant at) { return std::to_string(at.us / 60'000'000); };
      told.push_back(minute(change->at) + " " + word(change->is) + " since " +
                     minute(change->since));
    }
    ++from;
  }
  return told;
}

std::vector<double> times(std::size_t count, double value) {
  return std::vector<double>(count, value);
}

using Told = std::vector<std::string>;

}  // namespace

TEST_CASE("a limit that is passed for the on-delay is an alarm, with the time it began") {
  ReadingJudge judge(band());
  CHECK(feed(judge, 0, {25, 28}).empty());  // At the limit is not above it.
  CHECK(feed(judge, 2, times(10, 28.1)).empty());
  CHECK(feed(judge, 12, {28.2}) == Told{"12 high since 2"});
  CHECK(judge.state() == ReadingState::high);
  CHECK(judge.memory().bound == 28);
}

TEST_CASE("a short excursion costs nobody's sleep, and the delay then begins anew") {
  ReadingJudge judge(band());
  CHECK(feed(judge, 0, times(10, 29)).empty());
  CHECK(feed(judge, 10, {27.9}).empty());
  CHECK(feed(judge, 11, times(10, 29)).empty());
  CHECK(feed(judge, 21, {29}) == Told{"21 high since 11"});
}

// OPC UA Part 9 B.1.5 (as cited in the notes on alarms): it clears at limit minus deadband only.
TEST_CASE("inside the deadband the alarm stays; beyond it ends after the off-delay") {
  ReadingJudge judge(band());
  (void)feed(judge, 0, times(11, 22));
  REQUIRE(judge.state() == ReadingState::low);
  CHECK(feed(judge, 11, times(30, 23.29)).empty());
  CHECK(feed(judge, 41, times(5, 23.3)).empty());
  CHECK(feed(judge, 46, {23.3}) == Told{"46 normal since 41"});
}

TEST_CASE("from one limit past the other is a change of the alarm") {
  ReadingJudge judge(band());
  (void)feed(judge, 0, times(11, 22));
  CHECK(feed(judge, 11, times(11, 30)) == Told{"21 high since 11"});
}

TEST_CASE("after silence the delays go on with the first check-in") {
  ReadingJudge judge(band());
  (void)feed(judge, 0, {29});
  CHECK(feed(judge, 180, {29}) == Told{"180 high since 0"});
}

TEST_CASE("a value that never changes is told when it has been the same for so long") {
  ReadingLimits limits = band();
  limits.unchanged_for = Span::of_h(1);
  ReadingJudge judge(limits);
  CHECK(feed(judge, 0, times(60, 25)).empty());
  CHECK(feed(judge, 60, {25}) == Told{"60 unchanged since 0"});
  CHECK(feed(judge, 61, {25.1, 25.2, 25.1, 25.2, 25.1}).empty());
  CHECK(feed(judge, 66, {25.2}) == Told{"66 normal since 61"});
}

TEST_CASE("check-ins without the reading are told after the time for it, silence is not") {
  ReadingJudge judge(band());
  (void)feed(judge, 0, {25});
  CHECK_FALSE(judge.absent(at_min(500)));  // The first check-in after a long silence.
  CHECK_FALSE(judge.absent(at_min(619)));
  const auto change = judge.absent(at_min(620));
  REQUIRE(change);
  CHECK(change->is == ReadingState::missing);
  CHECK(change->since == at_min(500));
  CHECK(*change->value == 25);
  CHECK(feed(judge, 621, times(5, 25)).empty());
  CHECK(feed(judge, 626, {25}) == Told{"626 normal since 621"});
}

TEST_CASE("a reading that never came is missing as well") {
  ReadingJudge judge(band());
  CHECK_FALSE(judge.absent(at_min(0)));
  const auto change = judge.absent(at_min(120));
  REQUIRE(change);
  CHECK_FALSE(change->value);
}

TEST_CASE("one check-in with it in between begins the time for missing anew") {
  ReadingJudge judge(band());
  CHECK_FALSE(judge.absent(at_min(0)));
  (void)judge.value(at_min(60), 25);
  CHECK_FALSE(judge.absent(at_min(61)));
  CHECK_FALSE(judge.absent(at_min(180)));
  CHECK(judge.absent(at_min(181)));
}

namespace {

ReadingLimits of_a_pump() {
  ReadingLimits limits;
  limits.above_usual = 0.20;  // Common practice: +20 % and -10 % of a device's own baseline.
  limits.below_usual = 0.10;
  return limits;
}

/// A value every 10 minutes for `hours`. @return the first change.
std::optional<ReadingChange> run(ReadingJudge& judge, double& minute, double hours, double watts,
                                 std::mt19937_64& random) {
  std::normal_distribution<double> noise(0, 0.5);
  std::optional<ReadingChange> first;
  for (const double end = minute + hours * 60; minute < end; minute += 10) {
    const auto change = judge.value(at_min(minute), watts + noise(random));
    if (change && !first) first = change;
  }
  return first;
}

}  // namespace

TEST_CASE("power far from what is usual over a day is told, and what is usual is the days before") {
  std::mt19937_64 random(7);
  ReadingJudge judge(of_a_pump());
  double minute = 0;
  CHECK_FALSE(run(judge, minute, 24 * 10, 50, random));
  REQUIRE(judge.usual());
  CHECK(*judge.usual() == doctest::Approx(50).epsilon(0.01));
  SUBCASE("below") {
    const auto change = run(judge, minute, 24, 42, random);
    REQUIRE(change);
    CHECK(change->is == ReadingState::below_usual);
    CHECK(*change->value < 45);  // The mean of a day, not the newest value.
    CHECK(*change->value > 42);
    CHECK(change->bound == doctest::Approx(50).epsilon(0.02));
    // 16 % less, so the mean passes 10 % after 15 of 24 hours.
    CHECK((change->at - Instant{}).seconds() / 3600 - 240 == doctest::Approx(15.5).epsilon(0.1));
    const auto over = run(judge, minute, 24, 50, random);
    REQUIRE(over);
    CHECK(over->is == ReadingState::normal);
  }
  SUBCASE("above") {
    const auto change = run(judge, minute, 24, 63, random);
    REQUIRE(change);
    CHECK(change->is == ReadingState::above_usual);
  }
  SUBCASE("a little") {
    CHECK_FALSE(run(judge, minute, 48, 46, random));
    CHECK_FALSE(run(judge, minute, 24, 58, random));
  }
  SUBCASE("for a week, it is the new usual") {
    REQUIRE(run(judge, minute, 24, 40, random));
    (void)run(judge, minute, 24 * 9, 40, random);
    CHECK(judge.state() == ReadingState::normal);
    CHECK(*judge.usual() == doctest::Approx(40).epsilon(0.02));
  }
}

TEST_CASE("nothing is unusual before three whole days are known") {
  std::mt19937_64 random(8);
  ReadingJudge judge(of_a_pump());
  double minute = 0;
  CHECK_FALSE(run(judge, minute, 24 * 2, 50, random));
  CHECK_FALSE(run(judge, minute, 24 * 1.5, 20, random));
}

TEST_CASE("what is remembered goes on in another process as if nothing had been") {
  std::mt19937_64 random(11);
  std::uniform_real_distribution<double> any(21, 30);
  for (int world = 0; world < 50; ++world) {
    ReadingLimits limits = band();
    limits.on_delay = limits.off_delay = Span{};
    limits.unchanged_for = Span::of_min(40);
    limits.above_usual = limits.below_usual = 0.02;
    ReadingJudge whole(limits), halves(limits);
    double value = 25;
    for (int i = 0; i < 8000; ++i) {
      if (i % 1000 == 500) halves = ReadingJudge(limits, halves.memory());
      if (any(random) < 24) value = any(random);
      const auto a = whole.value(at_min(i * 7), value), b = halves.value(at_min(i * 7), value);
      REQUIRE(a.has_value() == b.has_value());
      if (a) REQUIRE(a->is == b->is);
    }
    CHECK(whole.memory().hours.size() < 2 * ReadingJudge::day_hours);
    CHECK(whole.memory().days.size() == ReadingJudge::week_days);
  }
}

TEST_CASE("properties: no alarm inside the limits, one for any stay beyond them past the delay") {
  std::mt19937_64 random(2026);
  for (int world = 0; world < 2'000; ++world) {
    ReadingJudge judge(band());
    std::uniform_real_distribution<double> inside(23, 28), step(0.2, 5);
    double minute = 0;
    for (int i = 0; i < 50; ++i, minute += step(random)) {
      REQUIRE_FALSE(judge.value(at_min(minute), inside(random)));
    }
    const double began = minute;
    std::optional<ReadingChange> change;
    while (!change && minute < began + 20) {
      change = judge.value(at_min(minute), 28.5);
      if (!change) minute += step(random);
    }
    REQUIRE(change);
    CHECK(change->since == at_min(began));
    CHECK(minute - began >= 10);
    CHECK(minute - began < 15.1);  // On-delay and at most one spacing.
  }
}

}  // namespace ebbwatch
