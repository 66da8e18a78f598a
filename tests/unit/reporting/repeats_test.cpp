#include "reporting/repeats.h"

#include <doctest/doctest.h>

namespace ebbwatch {
namespace {

using std::chrono::seconds;

TEST_CASE("repeats: the same line is held back for a minute and then counted") {
  Repeats repeats;
  CHECK_FALSE(repeats.see(seconds(0), "keys", "no").hold_back);
  for (int second = 1; second < 60; ++second)
    CHECK(repeats.see(seconds(second), "keys", "no").hold_back);
  const auto after = repeats.see(seconds(60), "keys", "no");
  CHECK_FALSE(after.hold_back);
  CHECK(after.earlier == 59);
  CHECK(repeats.see(seconds(61), "keys", "no").hold_back);
}

TEST_CASE("repeats: another line of the event is printed at once, after the count") {
  Repeats repeats;
  (void)repeats.see(seconds(0), "keys", "no");
  (void)repeats.see(seconds(1), "keys", "no");
  const auto other = repeats.see(seconds(2), "keys", "still no");
  CHECK_FALSE(other.hold_back);
  CHECK(other.earlier == 1);
  CHECK(repeats.see(seconds(3), "keys", "no").earlier == 0);
}

TEST_CASE("repeats: events do not hold each other back") {
  Repeats repeats;
  (void)repeats.see(seconds(0), "keys", "no");
  CHECK_FALSE(repeats.see(seconds(0), "started", "no").hold_back);
}

TEST_CASE("repeats: a clock that was set back holds nothing back") {
  Repeats repeats;
  (void)repeats.see(seconds(100), "keys", "no");
  CHECK_FALSE(repeats.see(seconds(50), "keys", "no").hold_back);
}

TEST_CASE("repeats: events beyond the limit are never held back") {
  Repeats repeats;
  for (std::size_t i = 0; i < Repeats::events_max; ++i)
    (void)repeats.see(seconds(0), std::to_string(i), "no");
  CHECK_FALSE(repeats.see(seconds(1), "one more", "no").hold_back);
  CHECK_FALSE(repeats.see(seconds(1), "one more", "no").hold_back);
  CHECK(repeats.see(seconds(1), "0", "no").hold_back);
}

}  // namespace
}  // namespace ebbwatch
