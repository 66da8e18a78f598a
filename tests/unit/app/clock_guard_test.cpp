#include "app/clock_guard.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

namespace {
constexpr Instant start{1'000'000'000};
constexpr WallTime wall_start{1'700'000'000'000'000};
}  // namespace

TEST_CASE("clock guard: a loop that keeps its promise is never blind") {
  ClockGuard guard(start, wall_start);
  for (int turn = 1; turn <= 100; ++turn) {
    const Span passed = ClockGuard::turn_every * turn;
    const auto seen = guard.turn(start + passed, wall_start + passed);
    CHECK(seen.blind_for == Span{});
    CHECK_FALSE(seen.wall_stepped);
  }
}

TEST_CASE("clock guard: a turn late by up to the allowed lateness is on time, later is blind") {
  const Span allowed = ClockGuard::turn_every + ClockGuard::lateness_max;
  ClockGuard guard(start, wall_start);
  CHECK(guard.turn(start + allowed, wall_start + allowed).blind_for == Span{});
  const Span late = allowed + Span::of_us(1);
  const auto seen = guard.turn(start + allowed + late, wall_start + allowed + late);
  CHECK(seen.blind_for == late);
}

TEST_CASE("clock guard: a suspended machine is blind for the whole time, once") {
  ClockGuard guard(start, wall_start);
  const Span asleep = Span::of_h(8);
  const auto woken = guard.turn(start + asleep, wall_start + asleep);
  CHECK(woken.blind_for == asleep);
  CHECK_FALSE(woken.wall_stepped);
  const Span next = asleep + Span::of_s(5);
  CHECK(guard.turn(start + next, wall_start + next).blind_for == Span{});
}

TEST_CASE("clock guard: a set wall clock is noticed and blinds nobody") {
  ClockGuard guard(start, wall_start);
  for (const Span step : {Span::of_days(1), Span{} - Span::of_h(1), Span::of_s(11)}) {
    ClockGuard fresh(start, wall_start);
    const auto seen = fresh.turn(start + Span::of_s(5), wall_start + Span::of_s(5) + step);
    CHECK(seen.blind_for == Span{});
    REQUIRE(seen.wall_stepped);
    CHECK(*seen.wall_stepped == step);
    // The new offset is the one to compare with from now on.
    const auto after = fresh.turn(start + Span::of_s(9), wall_start + Span::of_s(9) + step);
    CHECK_FALSE(after.wall_stepped);
  }
}

TEST_CASE("clock guard: slow drift is not a step") {
  ClockGuard guard(start, wall_start);
  for (int second = 1; second <= 10; ++second) {
    const Span passed = Span::of_s(second * 8);
    const auto seen = guard.turn(start + passed, wall_start + passed + Span::of_ms(second));
    CHECK_FALSE(seen.wall_stepped);
  }
}
