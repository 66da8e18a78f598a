#include "timeleft/water.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

namespace {
bool near(double value, double expected, double tolerance) {
  CAPTURE(value);
  CAPTURE(expected);
  return value >= expected - tolerance && value <= expected + tolerance;
}
}  // namespace

// W1, W2, W4, W5: printed in UNESCO Technical Papers in Marine Science 44. W3, W6: computed from
// the same equations by an independent program in Python.
TEST_CASE("water: density has the published values") {
  CHECK(near(water_density(0, 0), 999.842594, 1e-6));            // W1
  CHECK(near(water_density(35, 30), 1021.728639, 1e-5));         // W2
  CHECK(near(water_density(35, to_t68(25)), 1023.34123, 1e-4));  // W3
  CHECK(near(water_density(0, 30), 995.65113374, 1e-6));
  CHECK(near(water_density(35, 0), 1028.10633141, 1e-6));
}

TEST_CASE("water: specific heat has the published values") {
  CHECK(near(water_specific_heat(35, 20), 3993.854418, 1e-4));        // W4
  CHECK(near(water_specific_heat(40, 40), 3980.1, 0.06));             // W5
  CHECK(near(water_specific_heat(0, to_t68(26)), 4179.09194, 1e-3));  // W6
  constexpr double at_25[] = {4048.4405, 4041.8277, 4044.8439, 4049.0984, 4051.2245};
  constexpr double at_35[] = {3986.5331, 3986.3406, 3993.8544, 4000.6838, 4003.4619};
  for (int i = 0; i < 5; ++i) {
    CHECK(near(water_specific_heat(25, 10 * i), at_25[i], 1e-4));
    CHECK(near(water_specific_heat(35, 10 * i), at_35[i], 1e-4));
  }
}
