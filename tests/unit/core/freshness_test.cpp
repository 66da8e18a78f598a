#include "core/freshness.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

namespace {

CheckIn word(std::optional<std::uint64_t> seq, std::optional<double> uptime_s) {
  CheckIn check_in;
  check_in.seq = seq;
  check_in.uptime_s = uptime_s;
  return check_in;
}

Instant at(double seconds) {
  return Instant::of_seconds(seconds);
}

Newest after(const CheckIn& check_in, double seconds) {
  Newest newest;
  newest.take(check_in, at(seconds));
  return newest;
}

}  // namespace

TEST_CASE("freshness: seq moves forward, a copy or an old one is no contact") {
  const Newest newest = after(word(10, 600), 1000);
  CHECK(newest.judge(word(11, 660), at(1060)) == Freshness::fresh);
  CHECK(newest.judge(word(15, 900), at(1300)) == Freshness::fresh);
  CHECK(newest.judge(word(10, 600), at(1002)) == Freshness::stale);
  CHECK(newest.judge(word(8, 480), at(1060)) == Freshness::stale);
}

TEST_CASE("freshness: a smaller seq with a short uptime is a restart") {
  const Newest newest = after(word(5000, 300000), 1000);
  CHECK(newest.judge(word(0, 1), at(1090)) == Freshness::restarted);
  CHECK(newest.judge(word(2, 121), at(1200)) == Freshness::restarted);
  // A copy from its first hour is not: it would have started before it was last heard.
  CHECK(newest.judge(word(2, 3500), at(1090)) == Freshness::stale);
}

TEST_CASE("freshness: without seq the uptime decides") {
  const Newest newest = after(word({}, 600), 1000);
  CHECK(newest.judge(word({}, 660), at(1060)) == Freshness::fresh);
  CHECK(newest.judge(word({}, 600), at(1001)) == Freshness::stale);
  CHECK(newest.judge(word({}, 540), at(1010)) == Freshness::stale);
  CHECK(newest.judge(word({}, 5), at(1060)) == Freshness::restarted);
}

TEST_CASE("freshness: without both every check-in is contact") {
  const Newest newest = after(word({}, {}), 1000);
  CHECK(newest.judge(word({}, {}), at(1000)) == Freshness::fresh);
}

TEST_CASE("freshness: a seq that restarts without uptime is believed when it counts on") {
  Newest newest = after(word(5000, {}), 1000);
  const Span minute = Span::of_s(60);
  CHECK(newest.judge(word(0, {}), at(1060)) == Freshness::stale);
  CHECK_FALSE(newest.take_stale(word(0, {}), at(1060), minute));
  CHECK_FALSE(newest.take_stale(word(1, {}), at(1120), minute));
  CHECK(newest.take_stale(word(2, {}), at(1180), minute));
}

TEST_CASE("freshness: old copies that arrive in a burst are not a restart") {
  Newest newest = after(word(5000, {}), 1000);
  for (std::uint64_t seq = 100; seq < 120; ++seq) {
    CHECK_FALSE(newest.take_stale(word(seq, {}), at(1060 + 0.1 * static_cast<double>(seq)),
                                  Span::of_s(60)));
  }
}

TEST_CASE("freshness: a copy from before the last start is stale, though both counts are higher") {
  Newest newest = after(word(9000, 540000), 1000);
  newest.take(word(1, 2), at(1100));
  CHECK(newest.judge(word(9001, 540060), at(1130)) == Freshness::stale);
  CHECK(newest.judge(word({}, 540060), at(1130)) == Freshness::stale);
  CHECK(newest.judge(word(9001, 540060), at(1130 + 600000)) == Freshness::fresh);
  newest.take(word(5000, 300000), at(301000));
  CHECK(newest.judge(word(9001, 250000), at(301060)) == Freshness::stale);
  newest = after(word(1, 2), 1100);
  CHECK(newest.judge(word(2, 62), at(1160)) == Freshness::fresh);
  CHECK(newest.judge(word(2, 162), at(1160)) == Freshness::fresh);  // The one before was slow.
}

TEST_CASE("freshness: a restart right after a check-in that was under way for long is believed") {
  const Span minute = Span::of_s(60);
  Newest newest = after(word(500, 30000), 1000);  // Sent a minute and a half before.
  CHECK(newest.judge(word(2, 100), at(1010)) == Freshness::stale);
  CHECK_FALSE(newest.take_stale(word(2, 100), at(1010), minute));
  CHECK_FALSE(newest.take_stale(word(3, 160), at(1070), minute));
  CHECK(newest.take_stale(word(4, 220), at(1130), minute));
}

TEST_CASE("freshness: when the copy was believed first, the second true one is believed again") {
  const Span minute = Span::of_s(60);
  Newest newest = after(word(9000, 540000), 1000);
  newest.take(word(1, 2), at(1010));  // A copy of its very first word.
  CHECK(newest.judge(word(9001, 540060), at(1060)) == Freshness::stale);
  CHECK_FALSE(newest.take_stale(word(9001, 540060), at(1060), minute));
  CHECK_FALSE(newest.take_stale(word(9001, 540060), at(1061), minute));
  CHECK(newest.take_stale(word(9003, 540180), at(1181), minute));
}

TEST_CASE("freshness: seq tells how many were sent") {
  const Newest newest = after(word(10, 600), 1000);
  CHECK(newest.sent_since(word(11, 660)) == 1);
  CHECK(newest.sent_since(word(41, 2460)) == 31);
  CHECK(newest.sent_since(word(3, 100)) == 0);
  CHECK(newest.sent_since(word({}, 660)) == 0);
}
