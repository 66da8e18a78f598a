// H1 to H10 and the examples: computed by an independent program in Python; U of walls agrees with
// ISO 6946's resistances. There is no H3 among the values: it belongs to a formula not used here.
#include "timeleft/heat_loss.h"

#include <doctest/doctest.h>

#include <cmath>

#include "timeleft/hours.h"
#include "timeleft/ranges.h"
#include "unit/timeleft/references.h"
#include "unit/timeleft/tanks.h"

using namespace ebbwatch;
using test::tank_a;
using test::tank_b;

namespace {

bool near(double value, double expected, double tolerance) {
  CAPTURE(value);
  CAPTURE(expected);
  return value >= expected - tolerance && value <= expected + tolerance;
}

double hours(const TankBody& body, double from_c, double to_c, double room_c) {
  return hours_to_limit(from_c, to_c, linear_cooling(body, room_c, (from_c + to_c) / 2), 0);
}

double integrated_hours(const TankBody& body, double from_c, double to_c, double room_c) {
  const double capacity = heat_capacity_j_k(body);
  return test::crossing_h(
      [&](double, double t) { return -heat_loss_w(body, t, room_c) * 3600 / capacity; }, from_c,
      to_c);
}

}  // namespace

TEST_CASE("heat: walls and vapour have the check values") {
  CHECK(near(wall_transfer(0.006, glass_conductivity), 7.09219858, 1e-4));    // H1
  CHECK(near(wall_transfer(0.010, acrylic_conductivity), 5.32959327, 1e-4));  // H2
  CHECK(near(vapour_pressure_kpa(26), 3.36143983, 1e-4));                     // H4
}

TEST_CASE("heat: tanks cool and warm as the check values say") {
  CHECK(near(linear_cooling(tank_a(Cover::glass), 20, 24).tau_h, 16.0440364, 1e-3));        // H5
  CHECK(near(hours(tank_a(Cover::glass), 26, 22, 20), 17.6261755, 1e-3));                   // H6
  CHECK(near(linear_cooling(tank_a(Cover::open), 20, 24).equilibrium_c, 18.457295, 1e-3));  // H7
  CHECK(near(hours(tank_a(Cover::open), 26, 22, 20), 7.37149485, 2e-3));                    // H8
  CHECK(near(hours(tank_b(Cover::open), 25.5, 23, 18), 4.69212967, 2e-3));                  // H9
  CHECK(near(hours(tank_b(Cover::open), 25.5, 28, 32), 16.94, 5e-3));
  CHECK(near(heat_capacity_j_k(tank_a(Cover::open)) / 1000, 420.0, 0.1));
  CHECK(near(heat_capacity_j_k(tank_b(Cover::open)) / 1000, 1227.3, 0.1));
}

TEST_CASE("heat: the closed form agrees with Runge-Kutta on the full equation within 0.5 %") {
  struct Way {
    TankBody body;
    double from_c, to_c, room_c;
  };
  for (const Way& way :
       {Way{tank_a(Cover::glass), 26, 22, 20}, Way{tank_a(Cover::open), 26, 22, 20},
        Way{tank_b(Cover::open), 25.5, 23, 18}, Way{tank_b(Cover::open), 25.5, 28, 32},
        Way{tank_b(Cover::mesh), 25.5, 23, 20}}) {
    const double whole = integrated_hours(way.body, way.from_c, way.to_c, way.room_c);
    CHECK(near(hours(way.body, way.from_c, way.to_c, way.room_c), whole, 0.005 * whole));
  }
}

TEST_CASE("heat: in a room that cools on, the way down is the exact solution") {
  const LinearCooling cooling{15, 21};
  CHECK(near(temperature_after(12, 26, cooling, -0.5), 21.3766776, 1e-5));  // H10
  CHECK(near(temperature_after(6, 26, cooling, -0.5), 23.82420, 1e-5));
  CHECK(near(hours_to_limit(26, temperature_after(12, 26, cooling, -0.5), cooling, 0.5), 12, 1e-6));
  const double integrated = test::crossing_h(
      [](double t, double water) { return -(water - (21 - 0.5 * t)) / 15; }, 26, 22);
  CHECK(near(hours_to_limit(26, 22, cooling, 0.5), integrated, 1e-3));
  // Upwards it is the same in a mirror.
  CHECK(near(hours_to_limit(26, 30, {15, 31}, 0.5), integrated, 1e-3));
}

TEST_CASE("heat: an equilibrium inside the band is never left") {
  CHECK(hours_to_limit(26, 22, {15, 22}, 0) == never_h);
  CHECK(hours_to_limit(26, 22, {15, 30}, 0) == never_h);
  CHECK(hours_to_limit(22, 22, {15, 20}, 0) == 0);
  CHECK(hours_to_limit(22, 22, {15, 20}, 0.5) == 0);
}

TEST_CASE("heat: the range without drift has the check values of its rule") {
  TemperatureCase tank{tank_a(Cover::glass), 26, 20, {22, 40}, {}, 1.35, 2, 0};
  const TemperatureRange range = temperature_range(tank);
  CHECK(near(range.hours.low_h, 8.23769, 1e-3));
  CHECK(near(range.hours.middle_h, 17.6261755, 1e-3));
  CHECK(range.hours.high_h == never_h);
  CHECK(range.side == BandSide::below);
  // A room that cools on shortens the low end only.
  tank.room_drift_k_per_h = 0.5;
  CHECK(temperature_range(tank).hours.low_h < 7.5);
  CHECK(temperature_range(tank).hours.middle_h == range.hours.middle_h);
}

TEST_CASE(
    "heat: the warm side counts where it comes first, and water outside the band is out now") {
  const TemperatureCase warm{tank_b(Cover::open), 25.5, 32, {20, 28}};
  CHECK(temperature_range(warm).side == BandSide::above);
  TemperatureCase out{tank_b(Cover::open), 28.5, 20, {20, 28}};
  CHECK(temperature_range(out).hours.high_h == 0);
  out.water_c = 19;
  CHECK(temperature_range(out).hours.high_h == 0);
}
