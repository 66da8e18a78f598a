#include "core/timing_wheel.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <random>
#include <vector>

using namespace ebbwatch;

TEST_CASE("timing wheel: deadlines come in order of time, then of entry") {
  TimingWheel wheel(4, Instant{});
  wheel.arm(3, Instant::of_seconds(5));
  wheel.arm(1, Instant::of_seconds(5));
  wheel.arm(0, Instant::of_seconds(70'000));
  wheel.arm(2, Instant::of_seconds(4.9999));
  CHECK(wheel.next() <= Instant::of_seconds(4.9999));
  CHECK_FALSE(wheel.pop(Instant::of_seconds(4.9)).has_value());
  std::vector<std::uint32_t> order;
  while (const auto due = wheel.pop(Instant::of_seconds(100'000))) order.push_back(due->entry);
  CHECK(order == std::vector<std::uint32_t>{2, 1, 3, 0});
  CHECK(wheel.next().is_never());
}

TEST_CASE("timing wheel: a deadline that was pushed back comes at the new time only") {
  TimingWheel wheel(1, Instant{});
  for (int i = 1; i < 1000; ++i) wheel.arm(0, Instant::of_seconds(60.0 * i));
  CHECK_FALSE(wheel.pop(Instant::of_seconds(59'939)).has_value());
  const auto due = wheel.pop(Instant::of_seconds(59'940));
  REQUIRE(due.has_value());
  CHECK(due->at == Instant::of_seconds(59'940));
}

TEST_CASE("timing wheel: a deadline may be brought forward or taken away") {
  TimingWheel wheel(2, Instant{});
  wheel.arm(0, Instant::of_seconds(90'000));
  wheel.arm(0, Instant::of_seconds(3));
  wheel.arm(1, Instant::of_seconds(2));
  wheel.arm(1, Instant::never());
  const auto due = wheel.pop(Instant::of_seconds(10));
  REQUIRE(due.has_value());
  CHECK(due->entry == 0);
  CHECK_FALSE(wheel.pop(Instant::of_seconds(100'000)).has_value());
}

TEST_CASE("timing wheel: agrees with a plain list under random use") {
  std::mt19937_64 random(20020501);
  for (int round = 0; round < 50; ++round) {
    const auto entries = static_cast<std::uint32_t>(1 + random() % 40);
    std::vector<Instant> plain(entries, Instant::never());
    std::int64_t now = static_cast<std::int64_t>(random() % 1'000'000'000'000);
    TimingWheel wheel(entries, Instant{now});
    for (int step = 0; step < 400; ++step) {
      const auto entry = static_cast<std::uint32_t>(random() % entries);
      const auto reach = static_cast<std::int64_t>(1ULL << (random() % 42));
      const Instant due{now + static_cast<std::int64_t>(random() % 1'000'000'007) % reach};
      wheel.arm(entry, due);
      plain[entry] = due;
      if (step % 3 != 0) continue;
      now += static_cast<std::int64_t>(random() % 500'000'000);
      while (true) {
        const auto first = std::min_element(plain.begin(), plain.end());
        CHECK(wheel.next() <= *first);
        const auto popped = wheel.pop(Instant{now});
        if (*first > Instant{now}) {
          CHECK_FALSE(popped.has_value());
          break;
        }
        REQUIRE(popped.has_value());
        CHECK(popped->at == *first);
        CHECK(popped->entry == static_cast<std::uint32_t>(first - plain.begin()));
        *first = Instant::never();
      }
    }
  }
}

TEST_CASE("timing wheel: years ahead are as good as seconds") {
  TimingWheel wheel(2, Instant{});
  const Instant far = Instant{} + Span::of_days(365 * 20);
  wheel.arm(0, far);
  wheel.arm(1, far + Span::of_us(1));
  CHECK_FALSE(wheel.pop(far - Span::of_us(1)).has_value());
  const auto due = wheel.pop(far);
  REQUIRE(due.has_value());
  CHECK(due->entry == 0);
  CHECK_FALSE(wheel.pop(far).has_value());
}
