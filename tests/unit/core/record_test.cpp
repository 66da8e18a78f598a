#include <doctest/doctest.h>

#include <string>

#include "core/alarm_state.h"
#include "core/wording.h"
#include "unit/core/scene.h"

using namespace ebbwatch;
using test::Plan;
using test::Scene;

namespace {

Plan two_homes() {
  Plan plan;
  plan.site("elm").tank("lagoon").controller("main", 60);
  plan.site("birch").tank("reef").controller("other", 60);
  return plan;
}

std::string text(const Evidence& evidence) {
  return sentence(evidence, two_homes().plan, [](Instant at) { return span_text(at - Instant{}); });
}

}  // namespace

TEST_CASE("record: a running outage goes on after a restart and recovers under its own number") {
  Scene before(two_homes().plan);
  before.hear_all({"main", "other"}, 0, 601, 60);
  before.hear_all({"other"}, 660, 1200, 60);
  REQUIRE(before.decisions().size() == 1);
  const OutageId id = before.decisions()[0].outage;
  const WatchState state = before.watch.state();
  REQUIRE(state.outages.size() == 1);

  Scene after(two_homes().plan, 1500, state);
  CHECK(after.contact("main") == Contact::silent);
  REQUIRE(after.watch.outage(id) != nullptr);
  after.hear_all({"other"}, 1500, 2400, 60);
  CHECK(after.told() == "");
  after.hear_all({"main", "other"}, 2400, 3000, 60);
  REQUIRE(after.decisions().size() == 1);
  CHECK(after.decisions()[0].kind == DecisionKind::recovery);
  CHECK(after.decisions()[0].outage == id);
}

TEST_CASE("record: a restart is nobody's silence") {
  Scene before(two_homes().plan);
  before.hear_all({"main", "other"}, 0, 601, 60);
  before.hear_all({"other"}, 660, 900, 60);  // main is overdue, the on-delay nearly over
  Scene after(two_homes().plan, 5000, before.watch.state());
  after.tick(5000, 5050);
  CHECK(after.contact("main") == Contact::present);
  after.hear_all({"other"}, 5055, 5300, 60);
  CHECK(after.told() == "");
  after.hear_all({"other"}, 5300, 6000, 60);
  CHECK(after.decisions().size() == 1);  // And if it stays away it is told all the same.
}

TEST_CASE("record: the state that is given is the state that comes out") {
  Scene before(two_homes().plan);
  before.hear_all({"main", "other"}, 0, 601, 60);
  before.hear_all({"other"}, 660, 1200, 60);
  const WatchState state = before.watch.state();
  Scene after(two_homes().plan, 1200, state);
  const WatchState again = after.watch.state();
  REQUIRE(again.controllers.size() == state.controllers.size());
  CHECK(again.next_outage == state.next_outage);
  for (std::size_t i = 0; i < again.controllers.size(); ++i) {
    CHECK(again.controllers[i].contact == state.controllers[i].contact);
    CHECK(again.controllers[i].last_heard == state.controllers[i].last_heard);
    CHECK(again.controllers[i].outage == state.controllers[i].outage);
  }
}

TEST_CASE("record: an unsteady source stays one over a restart, and is steady again in its time") {
  Plan plan = two_homes();
  Scene before(plan.plan);
  before.hear_all({"main", "other"}, 0, 601, 60);
  double t = 600;
  for (int spell = 0; spell < 8; ++spell) {  // Seven minutes away, thirteen back.
    before.hear_all({"other"}, t + 60, t + 420, 60);
    before.hear_all({"main", "other"}, t + 420, t + 1201, 60);
    t += 1200;
  }
  const std::string told = before.told();
  CAPTURE(told);
  REQUIRE(told.find("unsteady") != std::string::npos);
  REQUIRE(told.find(" steady") == std::string::npos);
  const WatchState state = before.watch.state();
  const ControllerRecord& main = state.controllers[0];
  CHECK(main.unsteady);
  REQUIRE(main.standing != 0);

  Scene after(plan.plan, t + 60, state);
  const ControllerRecord again = after.watch.state().controllers[0];
  CHECK(again.figure == main.figure);
  CHECK(again.standing == main.standing);
  CHECK(again.standing_scope == main.standing_scope);
  CHECK(again.sent == main.sent);
  CHECK(again.lost == main.lost);
  CHECK(again.error == main.error);
  CHECK(after.watch.state().next_outage > main.standing);
  after.hear_all({"main", "other"}, t + 61, t + 6 * 3600, 60);
  REQUIRE(after.decisions().size() == 1);  // Neither a second standing alarm nor a loss.
  CHECK(after.decisions()[0].kind == DecisionKind::steady);
  CHECK(after.decisions()[0].outage == main.standing);
}

TEST_CASE("record: an outage whose controllers left the settings is closed at the first tick") {
  Scene before(two_homes().plan);
  before.hear_all({"main", "other"}, 0, 601, 60);
  before.hear_all({"other"}, 660, 1200, 60);
  WatchState state = before.watch.state();
  std::erase_if(state.controllers, [](const ControllerRecord& it) { return it.outage != 0; });
  Scene after(two_homes().plan, 1300, state);
  after.feed(1301, Tick{});
  REQUIRE(after.decisions().size() == 1);
  CHECK(after.decisions()[0].kind == DecisionKind::recovery);
}

// State chart of ISA-18.2 / IEC 62682 as public documentation of implementations prints it.
TEST_CASE("alarm: the transitions of the state chart") {
  using S = AlarmState;
  using E = AlarmEvent;
  CHECK(next(S::normal, E::goes_bad) == S::unacknowledged);
  CHECK(next(S::unacknowledged, E::acknowledge) == S::acknowledged);
  CHECK(next(S::unacknowledged, E::returns_to_good) == S::returned_unacknowledged);
  CHECK(next(S::acknowledged, E::returns_to_good) == S::normal);
  CHECK(next(S::acknowledged, E::alarm_again) == S::unacknowledged);
  CHECK(next(S::returned_unacknowledged, E::acknowledge) == S::normal);
  CHECK(next(S::returned_unacknowledged, E::goes_bad) == S::unacknowledged);
  CHECK(next(S::normal, E::acknowledge) == S::normal);
  for (const S state : {S::shelved, S::suppressed_by_design, S::out_of_service}) {
    for (const E event : {E::goes_bad, E::returns_to_good, E::acknowledge, E::alarm_again}) {
      CHECK(next(state, event) == state);
    }
  }
  CHECK(after_shelf(true) == S::unacknowledged);
  CHECK(after_shelf(false) == S::normal);
}

TEST_CASE("wording: spans have at most two units, rounded down") {
  CHECK(span_text(Span::of_s(45)) == "45 s");
  CHECK(span_text(Span::of_s(61)) == "1 min 1 s");
  CHECK(span_text(Span::of_s(12 * 60 + 59)) == "12 min");
  CHECK(span_text(Span::of_min(200)) == "3 h 20 min");
  CHECK(span_text(Span::of_h(52)) == "2 d 4 h");
  CHECK(span_text(Span::of_s(-5)) == "0 s");
}

TEST_CASE("wording: evidence reads as a sentence") {
  Evidence fact;
  fact.code = Evidence::Code::silent_since;
  fact.subject = Subject{Scope::controller, 0};
  fact.at = Instant::of_seconds(3600);
  CHECK(text(fact) == "main was last heard at 1 h.");
  fact.code = Evidence::Code::others_still_heard;
  fact.count = 1;
  CHECK(text(fact) == "1 other controller is still heard.");
  fact.code = Evidence::Code::kept_running;
  CHECK(text(fact) == "main kept running through the whole silence.");
  for (int code = 0; code <= static_cast<int>(Evidence::Code::was_put_away); ++code) {
    fact.code = static_cast<Evidence::Code>(code);
    const std::string said = text(fact);
    CAPTURE(said);
    CHECK(said.size() > 10);
    CHECK(said.back() == '.');
  }
}

TEST_CASE("wording: a decision is one line of JSON with the members in order") {
  Decision decision;
  decision.kind = DecisionKind::loss;
  decision.subject = Subject{Scope::site, 0};
  decision.outage = 17;
  decision.cause = Cause::internet;
  decision.confidence = 0.834;
  const auto time = [](Instant) { return std::string("14:02"); };
  CHECK(decision_json(decision, two_homes().plan, time, {"time_s", "12.5", "3.25"}) ==
        "{\"time_s\": 12.5, \"decision\": \"loss\", \"scope\": \"site\", \"subject\": \"elm\", "
        "\"outage\": \"harbour-17\", \"since_s\": 3.25, \"cause\": \"internet\", "
        "\"confidence\": 0.83, \"evidence\": []}");
}
