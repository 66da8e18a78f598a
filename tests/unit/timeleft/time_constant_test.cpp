// What is learnt from recorded stretches: synthetic logs with known truth.
#include "timeleft/time_constant.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "timeleft/heat_loss.h"
#include "unit/timeleft/references.h"
#include "unit/timeleft/tanks.h"

using namespace ebbwatch;

namespace {

struct Log {
  double tau_h = 15, start_c = 26, equilibrium_c = 20, lasts_h = 8, every_h = 1.0 / 60;
  double room_k_per_h = 0;
  double noise_k = 0.05, step_k = 0.1;
  bool room_sensor = true;
};

double rounded(double value, double step) {
  return step > 0 ? std::round(value / step) * step : value;
}

Spell spell(const Log& log, std::uint32_t seed = 1) {
  std::mt19937 random(seed);
  std::normal_distribution<double> noise(0, log.noise_k > 0 ? log.noise_k : 1e-9);
  Spell all;
  const LinearCooling cooling{log.tau_h, log.equilibrium_c};
  for (double h = 0; h <= log.lasts_h; h += log.every_h) {
    const double water = temperature_after(h, log.start_c, cooling, log.room_k_per_h);
    const double room = log.equilibrium_c + log.room_k_per_h * h;
    SpellSample sample{h, rounded(water + noise(random), log.step_k), {}};
    if (log.room_sensor) sample.room_c = rounded(room + noise(random), log.step_k);
    all.push_back(sample);
  }
  return all;
}

bool within_a_tenth(std::optional<double> found, double truth) {
  REQUIRE(found.has_value());
  CAPTURE(*found);
  return std::fabs(*found - truth) <= 0.10 * truth;
}

}  // namespace

TEST_CASE("learning: the time constant is found within 10 % from noisy logs with a room sensor") {
  for (const double tau : {6.0, 10.0, 16.0, 30.0}) {
    for (std::uint32_t seed = 1; seed <= 20; ++seed) {
      CAPTURE(tau);
      CAPTURE(seed);
      Log log;
      log.tau_h = tau;
      CHECK(within_a_tenth(time_constant_h(spell(log, seed), true), tau));
      log.room_k_per_h = -0.5;  // The room cools on, as it does without power.
      CHECK(within_a_tenth(time_constant_h(spell(log, seed), true), tau));
      log.start_c = 16;  // Warming.
      log.room_k_per_h = 0.2;
      CHECK(within_a_tenth(time_constant_h(spell(log, seed), true), tau));
    }
  }
}

TEST_CASE("learning: without a room sensor a long enough stretch gives it within 10 %") {
  for (const double tau : {6.0, 10.0, 16.0}) {
    for (std::uint32_t seed = 1; seed <= 20; ++seed) {
      CAPTURE(tau);
      CAPTURE(seed);
      Log log;
      log.tau_h = tau;
      log.lasts_h = 1.5 * tau;
      log.room_sensor = false;
      CHECK(within_a_tenth(time_constant_h(spell(log, seed), false), tau));
    }
  }
}

TEST_CASE("learning: of an open tank the equilibrium below the room is found as well") {
  const TankBody body = test::tank_a(Cover::open);
  const LinearCooling truth = linear_cooling(body, 20, 23);
  std::mt19937 random(3);
  std::normal_distribution<double> noise(0, 0.05);
  Spell log;
  double water = 26;
  for (double h = 0; h <= 14; h += 1.0 / 60) {
    log.push_back({h, rounded(water + noise(random), 0.1), rounded(20 + noise(random), 0.1)});
    water -= heat_loss_w(body, water, 20) * 60 / heat_capacity_j_k(body);
  }
  CHECK(within_a_tenth(time_constant_h(log, false), truth.tau_h));
}

TEST_CASE("learning: agrees with the formula of three points on a clean log") {
  // H11: 26.0, 24.9, 24.0 at 3 h; computed by an independent program in Python.
  CHECK(std::fabs(test::three_point_tau(26.0, 24.9, 24.0, 3) - 14.949866) <= 1e-3);
  Log log;
  log.noise_k = 0;
  log.step_k = 0;
  log.lasts_h = 6;
  log.every_h = 0.25;
  const Spell clean = spell(log);
  const double three =
      test::three_point_tau(clean.front().water_c, clean[12].water_c, clean[24].water_c, 3);
  CHECK(std::fabs(three - 15) < 1e-6);
  CHECK(std::fabs(time_constant_h(clean, true).value_or(0) - three) < 0.01);
  CHECK(std::fabs(time_constant_h(clean, false).value_or(0) - three) < 0.02);
}

TEST_CASE("learning: stretches that show nothing teach nothing") {
  Log log;
  log.lasts_h = 1;  // Far below a fifth of the time constant.
  log.tau_h = 40;
  CHECK_FALSE(time_constant_h(spell(log), true).has_value());
  log = {};
  log.start_c = 20.4;  // Moves by less than 1 K.
  CHECK_FALSE(time_constant_h(spell(log), true).has_value());
  log = {};
  Spell gap = spell(log);
  gap.erase(gap.begin() + 100, gap.begin() + 200);
  CHECK_FALSE(time_constant_h(gap, true).has_value());
  Spell heater = spell(log);  // Somebody lent a heater half way.
  for (std::size_t i = heater.size() / 2; i < heater.size(); ++i) heater[i].water_c = 25.5;
  CHECK_FALSE(time_constant_h(heater, true).has_value());
  CHECK_FALSE(time_constant_h(heater, false).has_value());
  log.room_sensor = false;
  CHECK_FALSE(time_constant_h(spell(log), true).has_value());
  CHECK_FALSE(time_constant_h({}, false).has_value());
  log.lasts_h = 3;  // Too short to tell equilibrium and time constant apart.
  log.every_h = 0.1;
  CHECK_FALSE(time_constant_h(spell(log), false).has_value());
}

TEST_CASE("learning: several stretches give their median, and their spread from five on") {
  CHECK_FALSE(combine({}).has_value());
  const auto two = combine({14, 16});
  REQUIRE(two.has_value());
  CHECK(two->hours == 15);
  CHECK(two->factor == size_factor);
  CHECK(two->spells == 2);
  CHECK(combine({15, 15.1, 14.9, 15, 15})->factor == 1.10);
  const auto wide = combine({10, 12, 15, 18, 25});
  CHECK(wide->hours == 15);
  CHECK(wide->factor > 1.2);
}

TEST_CASE("learning: power and gaps part the spells, and short ones do not count") {
  SpellFinder finder;
  WallTime at{1'700'000'000'000'000};
  const auto take = [&](int count, bool unpowered, Span every) {
    for (int i = 0; i < count; ++i) {
      at = at + every;
      finder.take(at, unpowered, 25, std::nullopt);
    }
  };
  take(20, true, Span::of_min(1));
  take(5, false, Span::of_min(1));
  take(7, true, Span::of_min(1));  // One short of a spell.
  take(1, false, Span::of_min(1));
  take(10, true, Span::of_min(1));
  at = at + Span::of_h(2);
  take(9, true, Span::of_min(1));
  const auto spells = finder.finish();
  REQUIRE(spells.size() == 3);
  CHECK(spells[0].size() == 20);
  CHECK(spells[1].size() == 10);
  CHECK(spells[2].size() == 9);
  CHECK(spells[2].front().at_h == 0);
}
