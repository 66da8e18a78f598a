#include "timeleft/hours.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

TEST_CASE("hours: below one, to six by halves, to a day by whole ones, and beyond") {
  CHECK(hours_text(0) == "less than an hour");
  CHECK(hours_text(0.99) == "less than an hour");
  CHECK(hours_text(1) == "1 hour");
  CHECK(hours_text(1.49) == "1 hour");
  CHECK(hours_text(1.5) == "1.5 hours");
  CHECK(hours_text(5.99) == "5.5 hours");
  CHECK(hours_text(6.9) == "6 hours");
  CHECK(hours_text(17.63) == "17 hours");
  CHECK(hours_text(24) == "24 hours");
  CHECK(hours_text(24.01) == "more than a day");
  CHECK(hours_text(never_h) == "never");
}

TEST_CASE("hours: arithmetic does not take half an hour away") {
  CHECK(hours_text(3.0 - 1e-12) == "3 hours");
}

TEST_CASE("hours: a range shares its unit and is one text where both ends are") {
  CHECK(range_text({1.2, 4, 11.6}) == "1 to 11 hours");
  CHECK(range_text({1.6, 4, 5.6}) == "1.5 to 5.5 hours");
  CHECK(range_text({0.4, 1, 2.6}) == "less than an hour to 2.5 hours");
  CHECK(range_text({0.4, 0.5, 0.6}) == "less than an hour");
  CHECK(range_text({8, 17, 30}) == "8 hours to more than a day");
  CHECK(range_text({8, 17, never_h}) == "8 hours to never");
  CHECK(range_text({30, 40, 50}) == "more than a day");
  CHECK(range_text({7.1, 7.5, 7.9}) == "7 hours");
}

TEST_CASE("hours: what has passed is taken off, down to nothing") {
  const HoursRange rest = later_by({1, 4, never_h}, 2.5);
  CHECK(rest.low_h == 0);
  CHECK(rest.middle_h == 1.5);
  CHECK(rest.high_h == never_h);
}
