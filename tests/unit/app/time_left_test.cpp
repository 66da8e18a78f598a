#include "app/time_left.h"

#include <doctest/doctest.h>

#include "settings/plan.h"

using namespace ebbwatch;

namespace {

class FixedClock final : public Clock {
 public:
  Instant now() const override { return Instant{Span::of_h(10).us}; }
  WallTime wall_now() const override { return WallTime{1'771'768'800'000'000}; }
};

/// A site with a tank of which enough is known for both clocks, and a smaller one beside it.
Settings two_tanks() {
  Settings settings;
  settings.watcher.name = "pier";
  SiteSettings site;
  site.id = site.name = "elm";
  for (const char* id : {"lagoon", "nursery"}) {
    TankSettings tank;
    tank.id = tank.name = id;
    tank.facts.volume_l = tank.id == "lagoon" ? 450 : 60;
    tank.facts.livestock = Livestock::reef;
    tank.facts.stock = tank.id == "lagoon" ? Stock::light : Stock::heavy;
    tank.facts.cover = Cover::open;
    tank.facts.room_temperature_c = 19;
    ControllerSettings controller;
    controller.id = controller.name = tank.id + "-main";
    tank.controllers = {controller};
    site.tanks.push_back(tank);
  }
  settings.sites = {site};
  return settings;
}

std::vector<LastHeard> both_warm(const Clock& clock) {
  const WallTime at = clock.wall_now() - Span::of_min(5);
  return {{"lagoon-main", at, R"({"temperature_c": 25.5})"},
          {"nursery-main", at, R"({"temperature_c": 25.5})"}};
}

}  // namespace

TEST_CASE("time left: the notice of a site tells of the tank with the least time, by name") {
  const FixedClock clock;
  const Settings settings = two_tanks();
  const WatchPlan plan = make_plan(settings);
  const auto heard = both_warm(clock);
  const auto of = [&](Subject subject) {
    return time_left_of(settings, plan, subject, heard, clock.wall_now());
  };
  const std::string nursery = of({Scope::tank, 1});
  CHECK(nursery.find("oxygen below 4 mg/L in ") != std::string::npos);
  CHECK(nursery.find("below 24 °C in ") != std::string::npos);
  CHECK(of({Scope::site, 0}) == "nursery: " + nursery);
  CHECK(of({Scope::controller, 1}) == nursery);
  CHECK(of({Scope::tank, 0}) != nursery);
  CHECK(time_left_of(settings, plan, {Scope::site, 0}, heard, clock.wall_now(), Language::german)
            .starts_with("nursery: Sauerstoff unter 4 mg/l: in "));
}

TEST_CASE("time left: nothing is told where nothing is known") {
  const FixedClock clock;
  const Settings settings = two_tanks();
  const WatchPlan plan = make_plan(settings);
  CHECK(time_left_of(settings, plan, {Scope::tank, 0}, {}, clock.wall_now()).empty());
  CHECK(time_left_of(settings, plan, {Scope::watcher, 0}, both_warm(clock), clock.wall_now())
            .empty());
}

TEST_CASE("time left: of a tank in contact from now on, of one on battery since it said so") {
  const FixedClock clock;
  const Settings settings = two_tanks();
  const WatchPlan plan = make_plan(settings);
  Watch watch(plan, clock.now() - Span::of_min(20));
  std::vector<Decision> decisions;
  CheckIn check_in;
  check_in.controller = {0};
  check_in.power = Power::mains;
  watch.on({clock.now() - Span::of_min(10), check_in}, decisions);
  const auto heard = both_warm(clock);
  auto left = time_left_now(settings, watch, {0}, heard, clock);
  CHECK(left.power == PowerKnown::on);
  CHECK(left.left.from == clock.wall_now());
  CHECK(shorter_low_h(left.left) < 24);
  check_in.power = Power::battery;
  watch.on({clock.now() - Span::of_min(4), check_in}, decisions);
  left = time_left_now(settings, watch, {0}, heard, clock);
  CHECK(left.power == PowerKnown::out);
  CHECK(left.left.from == clock.wall_now() - Span::of_min(4));
}
