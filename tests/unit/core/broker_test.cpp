// A message broker between controllers and the watcher: its silence is nobody's.
#include <doctest/doctest.h>

#include "core/self_trust.h"
#include "core/wording.h"
#include "unit/core/scene.h"

using namespace ebbwatch;
using test::Plan;
using test::Scene;

namespace {

const std::vector<std::string> behind{"a", "b", "c"};

/// Three homes that share nothing, checked in through the broker, and one over HTTP.
Plan homes() {
  Plan plan;
  for (const std::string& id : behind) plan.site("site-" + id).tank("t" + id).controller(id, 60);
  plan.site("elm").tank("lagoon").controller("main", 60);
  return plan;
}

struct World : Scene {
  explicit World(const Plan& plan = homes()) : Scene(plan.plan) { feed(0, BrokerLink{false}); }
  World(double now_s, const WatchState& state) : Scene(homes().plan, now_s, state) {
    feed(now_s, BrokerLink{false});
  }

  void hear_by_broker(double at_s, const std::string& id) {
    CheckIn check_in;
    check_in.controller = index(id);
    check_in.by_broker = true;
    feed(at_s, check_in);
  }
  /// Minutes from `from` to `to`: who checks in through the broker, whether it answers, and whether
  /// main checks in by itself.
  void minutes(int from, int to, const std::vector<std::string>& ids, bool answers, bool main) {
    for (int t = from; t < to; t += 60) {
      for (const std::string& id : ids) hear_by_broker(t + 1, id);
      if (main) hear(t + 2, "main");
      for (int s = 3; s < 60; s += 9) {
        feed(t + s, BrokerLink{answers});
        feed(t + s, Tick{});
      }
    }
  }
};

}  // namespace

TEST_CASE("broker: its silence begins with its last answer and ends with the next one") {
  SelfTrust trust({0, 0, Span::of_s(30), false}, Instant{});
  const auto at = [](double s) { return Instant::of_seconds(s); };
  CHECK_FALSE(trust.judges_broker());
  CHECK_FALSE(trust.broker(at(1), false));
  CHECK(trust.judges_broker());
  CHECK_FALSE(trust.broker_trusted());
  CHECK(trust.broker(at(3), true)->from == at(1));
  CHECK_FALSE(trust.broker(at(10), true));
  CHECK_FALSE(trust.broker(at(60), false));
  CHECK_FALSE(trust.broker(at(70), false));
  CHECK(trust.broker_proof() == at(10));
  const auto spell = trust.broker(at(500), true);
  REQUIRE(spell);
  CHECK(spell->from == at(10));
  CHECK(spell->to == at(500));
  CHECK(spell->why == BlindSpell::Why::broker);
  // A pause of the whole watcher is told as such, not once more as the broker's.
  CHECK(trust.jumped(at(900), Span::of_s(390)));
  CHECK(trust.broker_proof() == at(900));
}

TEST_CASE("broker: while it does not answer nobody behind it is lost; told once, while it lasts") {
  World world;
  world.minutes(0, 1800, behind, true, true);
  world.minutes(1800, 5400, {}, false, true);
  CHECK(world.told() == "2102 watch_gap watcher harbour watcher_uplink");
  const Decision gap = world.decisions()[0];
  CHECK(gap.since.seconds() == doctest::Approx(1797));
  CHECK(gap.told == Told::as_usual);
  const std::string sentence =
      sentences(gap, world.watch.plan(), [](Instant t) { return span_text(t - Instant{}); }).at(0);
  CHECK(sentence ==
        "The MQTT broker has not answered this watcher for 5 min 5 s. Not to be heard: 3.");
  CHECK(world.contact("main") == Contact::present);
  CHECK(world.contact("a") == Contact::overdue);

  world.minutes(5400, 9000, behind, true, true);
  CHECK(world.told() == "5401 watch_gap watcher harbour watcher_uplink");  // Its whole length …
  CHECK(world.decisions()[1].told == Told::held);  // … for the record only.
  CHECK(world.decisions()[1].outage == gap.outage);
  CHECK(world.contact("a") == Contact::present);
}

TEST_CASE("broker: back before an on-delay is over it is no news, or told when it is back") {
  World world;
  world.minutes(0, 1800, behind, true, true);
  world.minutes(1800, 1860, {}, false, true);
  world.minutes(1860, 3600, behind, true, true);
  CHECK(world.told() == "");
  world.minutes(3600, 3780, {}, false, true);
  world.minutes(3780, 6000, behind, true, true);
  CHECK(world.told() == "3781 watch_gap watcher harbour watcher_uplink");
  CHECK(world.decisions()[0].told == Told::as_usual);
}

TEST_CASE("broker: who does not come back with it is lost, after a whole on-delay") {
  World world;
  world.minutes(0, 1800, behind, true, true);
  world.minutes(1800, 5400, {}, false, true);
  world.minutes(5400, 7200, {"a", "b"}, true, true);
  REQUIRE(world.decisions().size() == 3);
  const Decision& loss = world.decisions()[2];
  CHECK(loss.kind == DecisionKind::loss);
  CHECK(loss.subject == Subject{Scope::site, 2});
  CHECK(loss.at.seconds() >= 5400 + 300);
  CHECK(loss.at.seconds() <= 5400 + 480);
}

TEST_CASE("broker: who comes by another way is judged as ever, and by itself") {
  World world;
  world.minutes(0, 1800, behind, true, true);
  world.minutes(1800, 4000, {}, false, false);
  REQUIRE(world.decisions().size() == 2);
  const Decision& loss = world.decisions()[1];
  CHECK(loss.kind == DecisionKind::loss);
  CHECK(loss.subject == Subject{Scope::site, 3});
  CHECK(loss.at.seconds() < 1800 + 600);
}

TEST_CASE("broker: a controller that moves to HTTP does not wait for it any more") {
  World world;
  world.minutes(0, 1800, behind, true, true);
  world.minutes(1800, 1860, {}, false, true);
  world.hear(1860, "a");
  world.minutes(1860, 3600, {}, false, true);
  REQUIRE(world.decisions().size() == 2);
  const auto& decided = world.decisions();
  CHECK((decided[0].kind == DecisionKind::loss || decided[1].kind == DecisionKind::loss));
  CHECK(world.contact("a") == Contact::silent);
  CHECK(world.contact("b") == Contact::overdue);
}

TEST_CASE("broker: a single silent controller is judged only when the broker has answered since") {
  World world;
  world.minutes(0, 1800, {"a"}, true, true);
  for (int t = 1800; t < 6000; t += 60) world.hear(t, "main");  // It neither fails nor answers.
  CHECK(world.told() == "");
  world.feed(6000, BrokerLink{true});
  CHECK(world.told() == "6000 loss site site-a undetermined");
}

TEST_CASE("broker: it may be down when the watcher starts") {
  World before;
  before.minutes(0, 1800, behind, true, true);
  World after(5000, before.watch.state());
  after.feed(5000, WatcherStarted{});
  after.minutes(5040, 7000, {}, false, true);
  CHECK(after.told() == "5301 watch_gap watcher harbour watcher_uplink");
}

TEST_CASE("broker: none is asked of any more: who came through one is judged without") {
  World before;
  before.minutes(0, 1800, behind, true, true);
  Scene after(homes().plan, 2000, before.watch.state());
  for (int t = 2000; t < 4000; t += 60) after.hear(t, "main");
  CHECK(after.told().find("loss") != std::string::npos);
}
