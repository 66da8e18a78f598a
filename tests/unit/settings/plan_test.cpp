// From settings to what the core watches.
#include "settings/plan.h"

#include "unit/settings/sample.h"

using namespace ebbwatch;
using test::problems_of;

namespace {

const std::string two_sites = R"(
watcher:
  name: harbour
  site: birch
  uplink_references: [{name: resolver, tcp: "192.0.2.53:53"}]
  uplink_every: 1min
detection: {on_delay: 10min, off_delay: 9min}
sites:
  - id: elm
    name: Elm Street
    area: north
    provider: fibre
    detection: {on_delay: 8min, min_missed: 4, steadiness: {suppress: 4000}}
    tanks:
      - id: lagoon
        name: Lagoon reef
        detection: {on_delay: 6min, quorum: majority}
        controllers:
          - {id: lagoon-main, interval: 60s,
             detection: {on_delay: 2min, steadiness: {penalty: 500}}}
          - {id: lagoon-logger, name: Logger, interval: 5min, supply: battery_backed}
      - id: reef
        controllers: [{id: reef-main}]
  - id: birch
    area: south
    provider: fibre
    tanks: [{id: nano, controllers: [{id: nano-main}]}]
  - id: cedar
    area: north
    tanks: [{id: cube, controllers: [{id: cube-main}]}]
witnesses: [{name: breakwater, url: "https://b.example.net", key: {file: k}}]
)";

Settings loaded() {
  const Loaded result = load_settings_text(two_sites, "f.yaml");
  REQUIRE(problems_of(result) == "");
  return result.settings;
}

}  // namespace

TEST_CASE("plan: positions follow the order of the file") {
  const WatchPlan plan = make_plan(loaded());
  CHECK(plan.watcher == "harbour");
  REQUIRE(plan.controllers.size() == 5);
  CHECK(plan.controllers[1].id == "lagoon-logger");
  CHECK(plan.controllers[1].interval == Span::of_min(5));
  CHECK(plan.controllers[1].supply == Supply::battery_backed);
  CHECK(plan.controllers[4].tank.value == 3);
  REQUIRE(plan.tanks.size() == 4);
  CHECK(plan.tanks[0].controllers.size() == 2);
  CHECK(plan.tanks[3].site.value == 2);
  CHECK(plan.sites[0].tanks.size() == 2);
  CHECK(plan.uplink_references == std::vector<std::string>{"resolver"});
  CHECK(plan.uplink_quorum == 1);
  CHECK(plan.uplink_every == Span::of_min(1));
  CHECK(plan.witnesses == std::vector<std::string>{"breakwater"});
}

TEST_CASE("plan: each level overrides what the level above says, key by key") {
  const WatchPlan plan = make_plan(loaded());
  const Detection& controller = plan.controllers[0].detection;
  CHECK(controller.on_delay == Span::of_min(2));                    // Its own.
  CHECK(controller.quorum.kind == Quorum::Kind::majority);          // Of its tank.
  CHECK(controller.min_missed == 4);                                // Of its site.
  CHECK(controller.off_delay == Span::of_min(9));                   // Of the file.
  CHECK(controller.witness_quorum.kind == Quorum::Kind::majority);  // The default.
  CHECK(controller.steadiness.penalty == 500);
  CHECK(controller.steadiness.suppress == 4000);
  CHECK(plan.controllers[1].detection.on_delay == Span::of_min(6));
  CHECK(plan.controllers[2].detection.on_delay == Span::of_min(8));
  CHECK(plan.controllers[3].detection.on_delay == Span::of_min(10));
  CHECK(plan.tanks[0].detection.on_delay == Span::of_min(6));
  CHECK(plan.sites[0].detection.on_delay == Span::of_min(8));
  CHECK(plan.sites[1].detection.on_delay == Span::of_min(10));
}

TEST_CASE("plan: sites that name the same area or provider share it") {
  const WatchPlan plan = make_plan(loaded());
  REQUIRE(plan.areas.size() == 2);
  CHECK(plan.areas[0].id == "north");
  REQUIRE(plan.areas[0].sites.size() == 2);
  CHECK(plan.areas[0].sites[1].value == 2);
  REQUIRE(plan.providers.size() == 1);
  CHECK(plan.providers[0].sites.size() == 2);
  CHECK(plan.sites[2].area.value == 0);
  CHECK(plan.sites[2].provider.is_none());
}

TEST_CASE("plan: only the site where the watcher stands is its own") {
  const WatchPlan plan = make_plan(loaded());
  CHECK_FALSE(plan.sites[0].is_watchers_own);
  CHECK(plan.sites[1].is_watchers_own);
}

TEST_CASE("plan: controllers are found by identifier, subjects have names and sites") {
  const Settings settings = loaded();
  const WatchPlan plan = make_plan(settings);
  CHECK(find_controller(plan, "reef-main")->value == 2);
  CHECK_FALSE(find_controller(plan, "reef").has_value());
  CHECK(site_of(settings, "elm")->name == "Elm Street");
  CHECK(site_of(settings, "elms") == nullptr);
  CHECK(subject_name(settings, plan, {Scope::controller, 1}) == "Logger");
  CHECK(subject_name(settings, plan, {Scope::tank, 0}) == "Lagoon reef");
  CHECK(subject_name(settings, plan, {Scope::tank, 1}) == "reef");
  CHECK(subject_name(settings, plan, {Scope::site, 0}) == "Elm Street");
  CHECK(subject_name(settings, plan, {Scope::area, 1}) == "area south");
  CHECK(subject_name(settings, plan, {Scope::provider, 0}) == "provider fibre");
  CHECK(subject_name(settings, plan, {Scope::watcher, 0}) == "watcher harbour");
  CHECK(site_of(plan, {Scope::controller, 4})->value == 2);
  CHECK(site_of(plan, {Scope::tank, 2})->value == 1);
  CHECK(site_of(plan, {Scope::site, 1})->value == 1);
  CHECK_FALSE(site_of(plan, {Scope::area, 0}).has_value());
}
