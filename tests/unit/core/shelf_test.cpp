#include <doctest/doctest.h>

#include <string>

#include "core/watch.h"
#include "core/wording.h"
#include "unit/core/scene.h"

using namespace ebbwatch;
using test::Plan;
using test::Scene;

namespace {

/// Two homes; the first has two tanks with one controller each. All each minute.
Plan homes() {
  Plan plan;
  plan.site("elm").tank("lagoon").controller("main", 60);
  plan.tank("frag").controller("side", 60);
  plan.site("birch").tank("reef").controller("other", 60);
  return plan;
}

const Subject lagoon{Scope::tank, 0};
const Subject elm{Scope::site, 0};

Shelve shelve(Subject subject, double until_s) {
  return {{subject, Shelf::Kind::shelved, Instant::of_seconds(until_s)}};
}

Shelve out_of_service(Subject subject) {
  return {{subject, Shelf::Kind::out_of_service, Instant::never()}};
}

std::string first_sentence(const Scene& scene, const Decision& decision) {
  return sentence(decision.evidence[0], scene.watch.plan(),
                  [](Instant t) { return std::to_string(static_cast<int>(t.seconds())); });
}

}  // namespace

TEST_CASE("shelf: a loss under it is decided and held, and told when it ends") {
  Scene scene(homes().plan);
  scene.hear_all({"main", "side", "other"}, 0, 601, 60);
  scene.feed(610, shelve(lagoon, 4000));
  CHECK(scene.watch.alarm(TankIndex{0}) == AlarmState::shelved);
  CHECK(scene.watch.alarm(TankIndex{1}) == AlarmState::normal);
  CHECK(scene.watch.alarm(SiteIndex{0}) == AlarmState::normal);
  scene.hear_all({"side", "other"}, 660, 3990, 60);
  REQUIRE(scene.decisions().size() == 1);
  CHECK(scene.decisions()[0].kind == DecisionKind::loss);
  CHECK(scene.decisions()[0].told == Told::held);
  CHECK_FALSE(scene.watch.outage(scene.decisions()[0].outage)->told);
  scene.tick(3999, 4000);
  REQUIRE(scene.decisions().size() == 2);
  const Decision& late = scene.decisions()[1];
  CHECK(late.at == Instant::of_seconds(4000));
  CHECK(late.kind == DecisionKind::cause_revised);
  CHECK(late.told == Told::late);
  CHECK(late.outage == scene.decisions()[0].outage);
  CHECK(first_sentence(scene, late) ==
        "lagoon was shelved until 4000; it is still silent since 600.");
  CHECK(scene.watch.alarm(TankIndex{0}) == AlarmState::unacknowledged);
  CHECK(scene.watch.shelves().empty());
  scene.hear_all({"main", "side", "other"}, 4020, 4400, 60);
  REQUIRE(scene.decisions().size() == 3);
  CHECK(scene.decisions()[2].kind == DecisionKind::recovery);
  CHECK(scene.decisions()[2].told == Told::as_usual);
}

TEST_CASE("shelf: a recovery under it is recorded only, and nothing is told when it ends") {
  Scene scene(homes().plan);
  scene.hear_all({"main", "side", "other"}, 0, 601, 60);
  scene.feed(610, shelve(lagoon, 4000));
  scene.hear_all({"side", "other"}, 660, 1500, 60);
  scene.hear_all({"main", "side", "other"}, 1500, 4500, 60);
  REQUIRE(scene.decisions().size() == 2);
  CHECK(scene.decisions()[1].kind == DecisionKind::recovery);
  CHECK(scene.decisions()[1].told == Told::held);
}

TEST_CASE("shelf: one who is just coming back when it ends is told only if contact breaks again") {
  Scene scene(homes().plan);
  scene.hear_all({"main", "side", "other"}, 0, 601, 60);
  scene.feed(610, shelve(lagoon, 2000));
  scene.hear_all({"side", "other"}, 660, 1970, 60);
  scene.hear_all({"main", "side", "other"}, 1970, 1990, 60);
  scene.hear_all({"side", "other"}, 2030, 2060, 60);
  CHECK(scene.decisions().size() == 1);
  scene.hear_all({"side", "other"}, 2090, 2600, 60);
  REQUIRE(scene.decisions().size() == 2);
  CHECK(scene.decisions()[1].told == Told::late);
}

TEST_CASE("shelf: taken off by a person while contact is gone tells at once") {
  Scene scene(homes().plan);
  scene.hear_all({"main", "side", "other"}, 0, 601, 60);
  scene.feed(610, shelve(lagoon, 90000));
  scene.hear_all({"side", "other"}, 660, 2000, 60);
  scene.feed(2001, Unshelve{lagoon, Shelf::Kind::shelved});
  REQUIRE(scene.decisions().size() == 2);
  CHECK(scene.decisions()[1].told == Told::late);
  CHECK(scene.decisions()[1].at == Instant::of_seconds(2001));
}

TEST_CASE("shelf: a wider loss with a part that is not shelved is told as usual") {
  Scene scene(homes().plan);
  scene.hear_all({"main", "side", "other"}, 0, 601, 60);
  scene.feed(610, shelve(lagoon, 9000));
  scene.hear_all({"other"}, 660, 1400, 60);
  REQUIRE(scene.decisions().size() == 1);
  CHECK(scene.decisions()[0].subject == elm);
  CHECK(scene.decisions()[0].told == Told::as_usual);
}

TEST_CASE("shelf: tanks shelved one by one hold the loss of their site") {
  Scene scene(homes().plan);
  scene.hear_all({"main", "side", "other"}, 0, 601, 60);
  scene.feed(610, shelve(lagoon, 9000));
  scene.feed(611, shelve({Scope::tank, 1}, 5000));
  CHECK(scene.watch.alarm(SiteIndex{0}) == AlarmState::shelved);
  scene.hear_all({"other"}, 660, 4990, 60);
  REQUIRE(scene.decisions().size() == 1);
  CHECK(scene.decisions()[0].told == Told::held);
  scene.tick(4999, 5001);
  REQUIRE(scene.decisions().size() == 2);
  CHECK(scene.decisions()[1].told == Told::late);
  CHECK(scene.decisions()[1].at == Instant::of_seconds(5000));
}

TEST_CASE("shelf: a loss that was told already rests, and comes again when it ends") {
  Scene scene(homes().plan);
  scene.hear_all({"main", "side", "other"}, 0, 601, 60);
  scene.hear_all({"side", "other"}, 660, 1300, 60);
  REQUIRE(scene.decisions().size() == 1);
  scene.feed(1301, shelve(lagoon, 2000));
  CHECK(scene.watch.alarm(TankIndex{0}) == AlarmState::shelved);
  SUBCASE("still gone") {
    scene.hear_all({"side", "other"}, 1320, 2100, 60);
    REQUIRE(scene.decisions().size() == 2);
    CHECK(scene.decisions()[1].told == Told::late);
  }
  SUBCASE("back: who was told of the loss hears of it") {
    scene.hear_all({"main", "side", "other"}, 1320, 2100, 60);
    REQUIRE(scene.decisions().size() == 2);
    CHECK(scene.decisions()[1].kind == DecisionKind::recovery);
    CHECK(scene.decisions()[1].told == Told::as_usual);
  }
}

TEST_CASE("out of service: has no end of its own and is more than shelved") {
  Scene scene(homes().plan);
  scene.hear_all({"main", "side", "other"}, 0, 601, 60);
  scene.feed(610, out_of_service(elm));
  scene.feed(611, shelve(lagoon, 900));
  CHECK(scene.watch.alarm(TankIndex{0}) == AlarmState::out_of_service);
  scene.hear_all({"other"}, 660, 90'000, 60);
  CHECK(scene.watch.alarm(SiteIndex{0}) == AlarmState::out_of_service);
  REQUIRE(scene.decisions().size() == 1);
  CHECK(scene.decisions()[0].told == Told::held);
  scene.feed(90'000, Unshelve{elm, Shelf::Kind::out_of_service});
  REQUIRE(scene.decisions().size() == 2);
  CHECK(first_sentence(scene, scene.decisions()[1]) ==
        "elm was out of service until 90000; it is still silent since 600.");
}

TEST_CASE("shelf: outlives the process; one that ended meanwhile waits for who is back") {
  Scene before(homes().plan);
  before.hear_all({"main", "side", "other"}, 0, 601, 60);
  before.feed(610, shelve(lagoon, 2000));
  before.hear_all({"side", "other"}, 660, 1500, 60);
  before.feed(1500, WatcherStopped{});
  const WatchState state = before.watch.state();
  REQUIRE(state.shelves.size() == 1);
  Scene after(homes().plan, 1500, state);
  after.feed(1500, WatcherStopped{});
  SUBCASE("it came back while nobody watched") {
    after.feed(3000, WatcherStarted{});
    after.hear_all({"main", "side", "other"}, 3010, 3700, 60);
    for (const Decision& one : after.decisions()) CHECK(one.told != Told::late);
  }
  SUBCASE("it is still gone") {
    after.feed(3000, WatcherStarted{});
    after.hear_all({"side", "other"}, 3010, 3200, 60);
    REQUIRE(after.decisions().size() == 2);  // the gap, then the tank
    CHECK(after.decisions()[1].told == Told::late);
  }
  SUBCASE("it has not ended yet") {
    after.feed(1700, WatcherStarted{});
    CHECK(after.watch.alarm(TankIndex{0}) == AlarmState::shelved);
    after.hear_all({"side", "other"}, 1710, 1990, 60);
    CHECK(after.decisions().size() == 1);
    after.tick(2000, 2100);
    CHECK(after.decisions().size() == 2);
  }
}

TEST_CASE("planned stop: still gone after it, told without a second on-delay") {
  Scene scene(homes().plan);
  scene.hear_all({"main", "side", "other"}, 0, 601, 60);
  CheckIn leaving;
  leaving.controller = scene.index("main");
  leaving.leaving = Span::of_min(30);
  scene.feed(630, leaving);
  CHECK(scene.watch.alarm(TankIndex{0}) == AlarmState::suppressed_by_design);
  CHECK(scene.watch.planned_until(scene.index("main")) == Instant::of_seconds(2430));
  SUBCASE("still gone") {
    scene.hear_all({"side", "other"}, 660, 2430, 60);
    CHECK(scene.decisions().empty());
    scene.hear_all({"side", "other"}, 2440, 2600, 30);
    REQUIRE(scene.decisions().size() == 1);
    CHECK(scene.decisions()[0].at - Instant::of_seconds(2430) < Span::of_s(95));
    CHECK(scene.decisions()[0].told == Told::as_usual);
    CHECK(first_sentence(scene, scene.decisions()[0]) ==
          "main announced a stop of 30 min and should be back since 2430.");
  }
  SUBCASE("back in time") {
    scene.hear_all({"side", "other"}, 660, 2400, 60);
    scene.hear_all({"main", "side", "other"}, 2420, 3600, 60);
    CHECK(scene.decisions().empty());
    CHECK(scene.watch.alarm(TankIndex{0}) == AlarmState::normal);
  }
  SUBCASE("known after a restart") {
    scene.feed(700, WatcherStopped{});
    Scene after(homes().plan, 700, scene.watch.state());
    after.feed(700, WatcherStopped{});
    after.feed(720, WatcherStarted{});
    CHECK(after.watch.alarm(TankIndex{0}) == AlarmState::suppressed_by_design);
    after.hear_all({"side", "other"}, 721, 2430, 60);
    CHECK(after.decisions().empty());
    after.hear_all({"side", "other"}, 2440, 2600, 30);
    CHECK(after.decisions().size() == 1);
  }
}
