#include "core/self_trust.h"

#include <doctest/doctest.h>

#include "unit/core/scene.h"

using namespace ebbwatch;
using test::Plan;
using test::Scene;

namespace {

Instant at(double seconds) {
  return Instant::of_seconds(seconds);
}

SelfTrust::Rules rules(std::uint32_t references, std::uint32_t quorum) {
  return {references, quorum, Span::of_s(30), references > 0};
}

Plan homes() {
  Plan plan;
  plan.site("elm").tank("lagoon").controller("main", 60);
  plan.site("birch").tank("reef").controller("other", 60);
  plan.uplink(1, {"resolver"});
  return plan;
}

/// Everything that a minute holds: both controllers when `heard`, the link's check twice.
void minute(Scene& scene, int t, bool main, bool other, bool link) {
  if (main) scene.hear(t, "main");
  if (other) scene.hear(t + 1, "other");
  scene.feed(t + 10, UplinkResult{ReferenceIndex{0}, link});
  scene.feed(t + 40, UplinkResult{ReferenceIndex{0}, link});
}

}  // namespace

TEST_CASE("self-trust: signs close to each other leave no blind spell, far ones do") {
  SelfTrust trust(rules(1, 1), at(0));
  CHECK_FALSE(trust.sign(at(30)).has_value());
  CHECK_FALSE(trust.sign(at(90)).has_value());
  const auto spell = trust.sign(at(600));
  REQUIRE(spell.has_value());
  CHECK(spell->from == at(90));
  CHECK(spell->to == at(600));
  CHECK(spell->why == BlindSpell::Why::stopped);
}

TEST_CASE("self-trust: without references its own pauses are not judged by silence") {
  SelfTrust trust(rules(0, 0), at(0));
  CHECK_FALSE(trust.sign(at(100'000)).has_value());
  CHECK(trust.link_trusted());
}

TEST_CASE("self-trust: a failed check makes the time since the last proof doubtful") {
  SelfTrust trust(rules(1, 1), at(0));
  trust.sign(at(30));
  CHECK_FALSE(trust.checked(at(30), ReferenceIndex{0}, true).has_value());
  trust.sign(at(60));
  CHECK_FALSE(trust.checked(at(60), ReferenceIndex{0}, false).has_value());
  CHECK_FALSE(trust.link_trusted());
  CHECK(trust.link_doubt_since() == at(30));
  trust.sign(at(90));
  const auto spell = trust.checked(at(90), ReferenceIndex{0}, true);
  REQUIRE(spell.has_value());
  CHECK(spell->from == at(30));
  CHECK(spell->to == at(90));
  CHECK(trust.link_trusted());
}

TEST_CASE("self-trust: the quorum of references decides") {
  SelfTrust trust(rules(3, 2), at(0));
  trust.checked(at(10), ReferenceIndex{0}, false);
  CHECK(trust.link_trusted());
  trust.checked(at(11), ReferenceIndex{1}, false);
  CHECK_FALSE(trust.link_trusted());
  trust.checked(at(50), ReferenceIndex{1}, true);
  CHECK(trust.link_trusted());
}

TEST_CASE(
    "self-trust: a reference that fails while check-ins arrive is the reference's own fault") {
  SelfTrust trust(rules(1, 1), at(0));
  trust.heard_remote(at(29));
  trust.checked(at(30), ReferenceIndex{0}, false);
  CHECK_FALSE(trust.heard_remote(at(31)).has_value());
  CHECK(trust.link_trusted());
}

TEST_CASE("self-trust: the link's failure is one gap and no loss of a tank") {
  Scene scene(homes().plan);
  for (int t = 0; t < 6000; t += 60) {
    const bool up = t < 1800 || t >= 3600;
    minute(scene, t, up, up, up);
  }
  CHECK(scene.told() == "3600 watch_gap watcher harbour watcher_uplink");
  CHECK(scene.decisions()[0].since.seconds() == doctest::Approx(1780));
}

TEST_CASE(
    "self-trust: a crash without a word, found by the missing checks, is one gap and no loss") {
  Scene scene(homes().plan);
  for (int t = 0; t < 6000; t += 60) {
    if (t < 1800 || t >= 3600) minute(scene, t, true, true, true);
  }
  CHECK(scene.told() == "3600 watch_gap watcher harbour watcher_uplink");
}

TEST_CASE("self-trust: stop and start in good order, short: no word; long: one gap") {
  Scene scene(homes().plan);
  for (int t = 0; t < 1800; t += 60) minute(scene, t, true, true, true);
  scene.feed(1800, WatcherStopped{});
  scene.feed(1815, WatcherStarted{});
  for (int t = 1860; t < 3600; t += 60) minute(scene, t, true, true, true);
  CHECK(scene.told() == "");
  scene.feed(3600, WatcherStopped{});
  scene.feed(7200, WatcherStarted{});
  for (int t = 7200; t < 9000; t += 60) minute(scene, t, true, true, true);
  CHECK(scene.told() == "7200 watch_gap watcher harbour watcher_uplink");
}

TEST_CASE("self-trust: the on-delay runs only while the watcher listens") {
  Scene scene(homes().plan);
  for (int t = 0; t < 1800; t += 60) minute(scene, t, true, true, true);
  // main is gone for good; 3 minutes later the link fails for an hour.
  for (int t = 1800; t < 1980; t += 60) minute(scene, t, false, true, true);
  for (int t = 1980; t < 5580; t += 60) minute(scene, t, false, false, false);
  for (int t = 5580; t < 7200; t += 60) minute(scene, t, false, true, true);
  REQUIRE(scene.decisions().size() == 2);
  CHECK(scene.decisions()[0].kind == DecisionKind::watch_gap);
  const Decision& loss = scene.decisions()[1];
  CHECK(loss.kind == DecisionKind::loss);
  // About two minutes of the on-delay were left, and a fair chance of two check-ins.
  CHECK(loss.at.seconds() >= 5581 + 120);
  CHECK(loss.at.seconds() <= 5581 + 260);
}

TEST_CASE("self-trust: a jump of the machine's sleep is no silence") {
  Plan plan;
  plan.site("elm").tank("lagoon").controller("main", 60);
  plan.site("birch").tank("reef").controller("other", 60);
  Scene scene(plan.plan);
  scene.hear_all({"main", "other"}, 0, 1801, 60);
  scene.feed(9000, ClockJump{Span::of_s(7190)});
  scene.hear_all({"main", "other"}, 9030, 10800, 60);
  CHECK(scene.told() == "9000 watch_gap watcher harbour watcher_uplink");
}

TEST_CASE("self-trust: the watcher's own site needs no link") {
  Plan plan;
  plan.own_site("home").tank("lagoon").controller("main", 60);
  plan.site("birch").tank("reef").controller("other", 60);
  plan.uplink(1, {"resolver"});
  Scene scene(plan.plan);
  for (int t = 0; t < 1800; t += 60) minute(scene, t, true, true, true);
  for (int t = 1800; t < 3600; t += 60) minute(scene, t, false, false, false);
  REQUIRE(scene.decisions().size() == 1);
  CHECK(scene.decisions()[0].kind == DecisionKind::loss);
  CHECK(scene.decisions()[0].subject == Subject{Scope::site, 0});
}

TEST_CASE("self-trust: many homes that share nothing fall silent at once: the watcher first") {
  Plan plan;
  for (int i = 0; i < 5; ++i) {
    const std::string id = std::to_string(i);
    plan.site("s" + id).tank("t" + id).controller("c" + id, 60);
  }
  Scene scene(plan.plan);
  const std::vector<std::string> all{"c0", "c1", "c2", "c3", "c4"};
  scene.hear_all(all, 0, 1801, 60);
  scene.hear_all(all, 3600, 7200, 60);
  CHECK(scene.told() == "3600 watch_gap watcher harbour watcher_uplink");
}
