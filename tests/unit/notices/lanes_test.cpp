#include "notices/lanes.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

namespace {

constexpr WallTime start{1'000'000'000};

Lanes filled(int count, LaneLimits limits) {
  Lanes lanes;
  lanes.set_limits("text", limits);
  for (int i = 0; i < count; ++i) {
    lanes.queue("text", {start, static_cast<std::uint64_t>(i)}, "notice-" + std::to_string(i));
  }
  return lanes;
}

int taken(Lanes& lanes, WallTime now) {
  int count = 0;
  while (lanes.take(now)) ++count;
  return count;
}

}  // namespace

TEST_CASE("lanes: no more at once than a notifier is allowed") {
  Lanes lanes = filled(10, {2, 0});
  CHECK(taken(lanes, start) == 2);
  CHECK_FALSE(lanes.next_due());
  lanes.free_place("text");
  CHECK(lanes.next_due() == start);
  CHECK(taken(lanes, start) == 1);
}

TEST_CASE("lanes: no more within any minute than a notifier is allowed") {
  Lanes lanes = filled(10, {100, 3});
  CHECK(taken(lanes, start) == 3);
  CHECK(lanes.next_due() == start + Span::of_min(1));
  CHECK(taken(lanes, start + Span::of_s(59)) == 0);
  CHECK(taken(lanes, start + Span::of_min(1)) == 3);
  CHECK(taken(lanes, start + Span::of_min(1)) == 0);
}

TEST_CASE("lanes: a clock that is set back does not stop a lane") {
  Lanes lanes = filled(10, {100, 3});
  CHECK(taken(lanes, start + Span::of_h(5)) == 3);
  CHECK(taken(lanes, start + Span::of_s(1)) == 3);
}

TEST_CASE("lanes: what has happened goes before chores that were due earlier") {
  Lanes lanes;
  lanes.set_limits("text", {1, 0});
  for (std::uint64_t i = 0; i < 50; ++i) {
    lanes.queue("text", {start, i, Rank::chores}, "drill-" + std::to_string(i));
  }
  CHECK(lanes.take(start)->notice == "drill-0");
  lanes.queue("text", {start + Span::of_s(5), 50, Rank::alarm}, "loss");
  lanes.free_place("text");
  CHECK(lanes.next_due() == start);
  CHECK(lanes.take(start + Span::of_s(5))->notice == "loss");
  lanes.free_place("text");
  CHECK(lanes.take(start + Span::of_s(6))->notice == "drill-1");
  CHECK(lanes.queued("text", start + Span::of_s(6)) == 48);
  CHECK(lanes.queued("text", start - Span::of_us(1)) == 0);
}

TEST_CASE("lanes: chores leave half of a limited minute to alarms") {
  Lanes lanes;
  lanes.set_limits("text", {100, 4});
  for (std::uint64_t i = 0; i < 10; ++i) {
    lanes.queue("text", {start, i, Rank::chores}, "drill-" + std::to_string(i));
  }
  CHECK(taken(lanes, start) == 2);
  CHECK(lanes.next_due() == start + Span::of_min(1));
  lanes.queue("text", {start, 10, Rank::alarm}, "loss");
  CHECK(lanes.take(start + Span::of_s(1))->notice == "loss");
}
