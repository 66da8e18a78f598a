// Over random tanks: what must hold whatever the figures are. TIMELEFT_RUNS and TIMELEFT_SEED
// choose how many and which.
#include <doctest/doctest.h>

#include <cmath>
#include <cstdlib>
#include <random>

#include "timeleft/estimate.h"

using namespace ebbwatch;

namespace {

constexpr WallTime now{1'790'000'000'000'000};

unsigned from_environment(const char* name, unsigned otherwise) {
  const char* text = std::getenv(name);
  return text != nullptr ? static_cast<unsigned>(std::strtoul(text, nullptr, 10)) : otherwise;
}

class Chance {
 public:
  explicit Chance(unsigned seed) : random_(seed) {}
  double between(double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random_);
  }
  template <class Enum>
  Enum one_of(unsigned count) {
    return static_cast<Enum>(random_() % count);
  }

 private:
  std::mt19937 random_;
};

TankFacts random_tank(Chance& chance) {
  TankFacts facts;
  facts.length_cm = chance.between(30, 200);
  facts.width_cm = chance.between(20, 80);
  const double depth_cm = chance.between(20, 70);
  facts.volume_l = *facts.length_cm * *facts.width_cm * depth_cm / 1000;
  facts.wall_thickness_mm = chance.between(4, 20);
  facts.wall = chance.one_of<WallMaterial>(2);
  facts.cover = chance.one_of<Cover>(3);
  facts.livestock = chance.one_of<Livestock>(5);
  facts.stock = chance.one_of<Stock>(3);
  facts.safe_temperature = SafeBand{chance.between(14, 22), chance.between(26, 31)};
  facts.setpoint_c = chance.between(22.5, 25.5);
  facts.room_temperature_c = chance.between(8, 22);  // Cooling; the warm side has its own case.
  return facts;
}

HoursRange temperature(const TankFacts& facts) {
  const TimeLeft left = estimate_time_left(facts, {}, now, std::nullopt);
  REQUIRE(left.temperature.range.has_value());
  return *left.temperature.range;
}

HoursRange oxygen(const TankFacts& facts) {
  const TimeLeft left = estimate_time_left(facts, {}, now, std::nullopt);
  REQUIRE(left.oxygen.range.has_value());
  return *left.oxygen.range;
}

/// All three ends; equal ones and both never are in order.
bool not_longer(const HoursRange& shorter, const HoursRange& longer) {
  const auto fine = [](double a, double b) { return a <= b * (1 + 1e-9) || std::isinf(b); };
  return fine(shorter.low_h, longer.low_h) && fine(shorter.middle_h, longer.middle_h) &&
         fine(shorter.high_h, longer.high_h);
}

template <class Check>
void over_random_tanks(Check check) {
  const unsigned runs = from_environment("TIMELEFT_RUNS", 2000);
  const unsigned seed = from_environment("TIMELEFT_SEED", 1);
  for (unsigned i = 0; i < runs; ++i) {
    Chance chance(seed + i);
    INFO("repeat with TIMELEFT_RUNS=1 TIMELEFT_SEED=" << seed + i);
    const TankFacts facts = random_tank(chance);
    if (*facts.volume_l < 20 || *facts.volume_l > 2000) continue;
    check(facts, chance);
  }
}

}  // namespace

TEST_CASE("property: low, middle and high are in order, and nothing is below zero") {
  over_random_tanks([](TankFacts facts, Chance& chance) {
    facts.room_temperature_c = chance.between(5, 38);
    facts.safe_oxygen_mg_l = chance.between(1, 7);
    for (const HoursRange& range : {temperature(facts), oxygen(facts)}) {
      CHECK(range.low_h >= 0);
      CHECK(range.low_h <= range.middle_h);
      CHECK(range.middle_h <= range.high_h);
    }
  });
}

TEST_CASE("property: a bigger tank of the same shape keeps its temperature longer") {
  over_random_tanks([](TankFacts facts, Chance& chance) {
    const HoursRange small = temperature(facts);
    const double scale = chance.between(1, 1.3);
    facts.length_cm = *facts.length_cm * scale;
    facts.width_cm = *facts.width_cm * scale;
    facts.volume_l = *facts.volume_l * scale * scale * scale;
    CHECK(not_longer(small, temperature(facts)));
  });
}

TEST_CASE("property: more water for the same fish lasts longer") {
  over_random_tanks([](TankFacts facts, Chance& chance) {
    facts.fish_mass_g = chance.between(0.2, 2) * *facts.volume_l;
    facts.coral_area_m2 = 0;
    facts.livestock = Livestock::tropical;
    const HoursRange small = oxygen(facts);
    // Longer and wider, not deeper: a deeper tank has less surface for its water.
    const double scale = chance.between(1, 1.5);
    facts.length_cm = *facts.length_cm * scale;
    facts.volume_l = *facts.volume_l * scale;
    CHECK(not_longer(small, oxygen(facts)));
  });
}

// In a room that is warmer than the water, walls and covers keep out heat that an evaporating tank
// needs; so these two are about rooms below the band, also at the near end of their range.
TEST_CASE("property: in a cool room better walls keep the temperature longer") {
  over_random_tanks([](TankFacts facts, Chance& chance) {
    facts.room_temperature_c = facts.safe_temperature->low_c - chance.between(2, 8);
    const HoursRange thin = temperature(facts);
    facts.wall_thickness_mm = *facts.wall_thickness_mm + chance.between(0, 20);
    CHECK(not_longer(thin, temperature(facts)));
    facts.wall = WallMaterial::glass;
    const HoursRange glass = temperature(facts);
    facts.wall = WallMaterial::acrylic;
    CHECK(not_longer(glass, temperature(facts)));
  });
}

TEST_CASE("property: in a cool room a closer cover keeps the temperature longer") {
  over_random_tanks([](TankFacts facts, Chance& chance) {
    facts.room_temperature_c = facts.safe_temperature->low_c - chance.between(2, 8);
    facts.cover = Cover::open;
    const HoursRange open = temperature(facts);
    facts.cover = Cover::mesh;
    const HoursRange mesh = temperature(facts);
    facts.cover = Cover::glass;
    CHECK(not_longer(open, mesh));
    CHECK(not_longer(mesh, temperature(facts)));
  });
}

TEST_CASE("property: a room that is nearer to the water gives more time") {
  over_random_tanks([](TankFacts facts, Chance& chance) {
    // Only the cold side: with a wide band above, no warm room ends the time.
    facts.safe_temperature->high_c = 60;
    const HoursRange cold = temperature(facts);
    facts.room_temperature_c = *facts.room_temperature_c + chance.between(0, 5);
    CHECK(not_longer(cold, temperature(facts)));
    // And the warm side.
    facts.safe_temperature = SafeBand{-40, 27};
    facts.room_temperature_c = chance.between(30, 38);
    const HoursRange hot = temperature(facts);
    facts.room_temperature_c = *facts.room_temperature_c - chance.between(0, 5);
    CHECK(not_longer(hot, temperature(facts)));
  });
}

TEST_CASE("property: a heavier stock, warmer water and a tighter lid leave less oxygen") {
  over_random_tanks([](TankFacts facts, Chance& chance) {
    facts.stock = Stock::light;
    const HoursRange light = oxygen(facts);
    facts.stock = Stock::medium;
    const HoursRange medium = oxygen(facts);
    facts.stock = Stock::heavy;
    CHECK(not_longer(medium, light));
    CHECK(not_longer(oxygen(facts), medium));
    facts.stock = Stock::medium;
    facts.cover = Cover::open;
    const HoursRange open = oxygen(facts);
    facts.cover = Cover::glass;
    CHECK(not_longer(oxygen(facts), open));
    const HoursRange cool = oxygen(facts);
    facts.setpoint_c = *facts.setpoint_c + chance.between(0, 8);
    CHECK(not_longer(oxygen(facts), cool));
  });
}
