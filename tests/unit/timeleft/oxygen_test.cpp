#include "timeleft/oxygen.h"

#include <doctest/doctest.h>

#include <cmath>

#include "timeleft/hours.h"
#include "timeleft/ranges.h"
#include "timeleft/water.h"
#include "unit/timeleft/references.h"

using namespace ebbwatch;

namespace {

bool near(double value, double expected, double tolerance) {
  CAPTURE(value);
  CAPTURE(expected);
  return value >= expected - tolerance && value <= expected + tolerance;
}

/// The first example: sixty fish of 1.5 g at 26 °C in 100.8 L, 36 cm deep.
OxygenCase example() {
  OxygenCase tank;
  tank.saturation_mg_l = oxygen_saturation(26, 0, 1);
  tank.use_mg_l_h = oxygen_use_mg_h({90, 1.5, 0.79, 0}, 26) / 100.8;
  tank.reaeration_per_h = surface_transfer_m_h(1.5, 26, false) / 0.36;
  tank.limit_mg_l = 4;
  return tank;
}

}  // namespace

TEST_CASE("oxygen: saturation has the values of the USGS tables") {
  CHECK(near(oxygen_saturation(25, 0, 1), 8.26, 0.005));             // D1, DOTABLES
  CHECK(near(oxygen_saturation(10, 0, 761.0 / 760), 11.30, 0.005));  // D2, DOTABLES
  // DOTABLES, fresh water, 760 mmHg, every 5 °C from 0 to 40.
  constexpr double printed[] = {14.62, 12.77, 11.29, 10.08, 9.09, 8.26, 7.56, 6.95, 6.41};
  for (int i = 0; i < 9; ++i) CHECK(near(oxygen_saturation(5 * i, 0, 1), printed[i], 0.0051));
}

TEST_CASE("oxygen: saturation has the values of an independent program of the same equations") {
  CHECK(near(oxygen_saturation(25, 0, 1), 8.2634567, 1e-5));       // D3
  CHECK(near(oxygen_saturation(25, 35, 1), 6.77211601, 1e-5));     // D4
  CHECK(near(oxygen_saturation(25, 35, 0.85), 5.72408342, 1e-5));  // D5
  CHECK(near(oxygen_saturation(28, 33, 1), 6.51377871, 1e-5));     // D6
  CHECK(near(oxygen_saturation(15, 0, 1), 10.0838583, 1e-5));      // D9
  constexpr double by_height[] = {8.263, 7.770, 7.300, 6.852, 6.427};
  for (int i = 0; i < 5; ++i) {
    CHECK(near(oxygen_saturation(25, 0, pressure_at(500 * i)), by_height[i], 6e-4));
  }
}

TEST_CASE("oxygen: saturation agrees with two other authors over the whole range") {
  CHECK(near(test::garcia_gordon_umol_kg(10, 35), 274.610, 1e-3));  // D7, published
  CHECK(near(test::weiss_ml_l(20, 40), 5.01531004, 1e-6));          // D8, published
  for (double t = 0; t <= 40; t += 2.5) {
    for (double s = 0; s <= 40; s += 5) {
      const double ours = oxygen_saturation(t, s, 1);
      const double by_mass =
          test::garcia_gordon_umol_kg(t, s) * 31.998e-3 * water_density(s, to_t68(t)) / 1000;
      CHECK(near(by_mass, ours, 0.002 * ours));
      CHECK(near(test::weiss_ml_l(t, s) * test::mg_per_ml_oxygen, ours, 0.006 * ours));
    }
  }
}

TEST_CASE("oxygen: fish use what was measured of them") {
  CHECK(near(resting_fish_use_mg_h(50, 26, 0.79), 10.8568286, 1e-3));  // F1
  CHECK(near(resting_fish_use_mg_h(50, 30, 0.79) / resting_fish_use_mg_h(50, 0, 0.79), 6.16397261,
             1e-3));                                                     // F2, abstract: about 6
  CHECK(near(resting_fish_use_mg_h(1.5, 26, 0.79), 0.680187696, 1e-4));  // F3
  CHECK(near(resting_fish_use_mg_h(20, 26, 0.633), 6.079, 1e-3));
}

TEST_CASE("oxygen: the use of trout lies within our range") {
  CHECK(near(test::liao_trout_mg_kg_h(50, 0.1), 226.109325, 0.05));  // F4
  const double grams = 45.36;                                        // 0.1 lb, 10 °C
  const double ours = 2 * resting_fish_use_mg_h(grams, 10, 0.79) / grams * 1000;
  CHECK(test::liao_trout_mg_kg_h(50, 0.1) > ours / 1.7);
  CHECK(test::liao_trout_mg_kg_h(50, 0.1) < ours * 1.7);
}

TEST_CASE("oxygen: exchange through a still surface") {
  CHECK(near(oxygen_schmidt_number(20, true), 568.2032, 1e-3));  // K1
  CHECK(near(oxygen_schmidt_number(26, false), 379.8, 0.05));
  CHECK(near(surface_transfer_m_h(1.5, 26, false), 0.0203460031, 1e-7));  // K2
  // O5: an air stone in 38 L, 51 to 87 % in half an hour; a still surface is far below that.
  const double air_stone = test::exchange_per_h(0.49, 0.13, 0.5);
  CHECK(near(air_stone, 2.65374188, 1e-4));
  CHECK(surface_transfer_m_h(3, 26, false) / 0.3 < air_stone / 10);
}

TEST_CASE("oxygen: the clock has the check values") {
  CHECK(near(hours_to_oxygen({7.7, 8.114, 1.05, 0.0565}, 4), 4.02997072, 1e-4));  // O1
  CHECK(near(hours_to_oxygen({6.4, 6.715, 0.98, 0.0372}, 4), 2.60043533, 1e-4));  // O2
  CHECK(hours_to_oxygen({7.8, 8.26, 0.29, 0.0788}, 4) == never_h);                // O3
  CHECK(near(hours_to_oxygen({7.7, 8.114, 1.05, 0}, 4), 3.52380952, 1e-6));       // O4
  CHECK(hours_to_oxygen({4, 8, 1, 0.05}, 4) == 0);
  CHECK(hours_to_oxygen({7, 8, 0, 0}, 4) == never_h);
}

TEST_CASE("oxygen: the clock agrees with Runge-Kutta") {
  const double integrated =
      test::crossing_h([](double, double c) { return 0.0565 * (8.114 - c) - 1.05; }, 7.7, 4, 0.001);
  CHECK(near(hours_to_oxygen({7.7, 8.114, 1.05, 0.0565}, 4), integrated, 1e-4));
}

TEST_CASE("oxygen: the first example and its range") {
  const OxygenCase tank = example();
  CHECK(near(tank.use_mg_l_h, 1.0527, 1e-4));
  CHECK(near(tank.reaeration_per_h, 0.05652, 1e-5));
  CHECK(near(oxygen_range(tank).middle_h, 4.026, 1e-3));
  // The ends by an independent program in Python, from these rounded inputs.
  const HoursRange range = oxygen_range({8.114, {}, 1.0527, 0.05652, 4});
  CHECK(near(range.low_h, 1.45830, 1e-4));
  CHECK(near(range.high_h, 11.61856, 1e-4));
}

TEST_CASE("oxygen: a probe's reading takes the place of the assumed start") {
  OxygenCase tank = example();
  tank.measured_mg_l = 4.5;
  const HoursRange range = oxygen_range(tank);
  CHECK(range.high_h < oxygen_range(example()).low_h + 2);
  tank.measured_mg_l = 3.9;
  CHECK(oxygen_range(tank).high_h == 0);
  tank.measured_mg_l = 10;  // More than the air gives: exchange works against the tank.
  const HoursRange over = oxygen_range(tank);
  CHECK(over.low_h <= over.middle_h);
  CHECK(over.middle_h <= over.high_h);
}

TEST_CASE("oxygen: a reef counts its corals, as in the second example") {
  const double use = oxygen_use_mg_h({150, 30, 0.633, 0.6}, 25.5) / 300;
  CHECK(near(use, 0.9810, 1e-4));
  CHECK(near(surface_transfer_m_h(1.5, 25.5, true) / 0.5, 0.03720, 1e-5));
}
