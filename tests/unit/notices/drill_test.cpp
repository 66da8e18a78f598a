// Exercises: from the made-up silence to the queues of the notifiers.
#include <doctest/doctest.h>

#include "notices/desk_bench.h"
#include "notices/drill_plan.h"

using namespace ebbwatch;
using sample::DeskBench;

namespace {

constexpr OutageId number = 7;

void drill(DeskBench& bench, const DrillWish& wish = {"elm-street", "", ""}) {
  const auto plan = plan_drill(bench.settings, wish);
  REQUIRE(plan.ok());
  const MadeUpLoss made = make_up_loss(bench.settings, plan.value().site, number, bench.now);
  bench.store(bench.desk->on_drill(made, plan.value().calls, bench.now, bench.entropy));
}

std::string calls(const Result<DrillPlan>& plan) {
  if (!plan) return plan.error().text;
  std::string line = plan.value().site.id + ":";
  for (const Call& call : plan.value().calls) {
    line += " " + call.keyholder;
    for (const std::string& way : call.by) line += "/" + way;
  }
  return line;
}

}  // namespace

TEST_CASE("drill: the core itself decides the made-up loss, at the moment asked for") {
  const Settings settings = sample::settings();
  const MadeUpLoss made = make_up_loss(settings, settings.sites[0], number, sample::two_o_clock);
  CHECK(made.decision.kind == DecisionKind::loss);
  CHECK(made.decision.outage == number);
  CHECK(made.decision.at.us == sample::two_o_clock.us);
  CHECK(subject_id(made.plan, made.decision.subject) == "practice-tank");
  CHECK(made.decision.since < made.decision.at);
  CHECK_FALSE(made.decision.evidence.empty());
}

TEST_CASE("drill: everybody on the list gets it by every way, each proven on its own") {
  DeskBench bench;
  drill(bench);
  CHECK(bench.send() == "mail>robin drill; text>robin drill; text>sam drill");
  const Message& mail = bench.flying[0].message;
  CHECK(mail.subject == "DRILL: Practice tank, Elm Street: no contact since 13:53");
  CHECK(mail.text.starts_with("This is a DRILL."));
  CHECK(mail.event_type == "ebbwatch.drill");
  CHECK(bench.flying[1].message.short_text.starts_with("DRILL, all is well. "));
  bench.fails("text>robin drill");
  CHECK(bench.send() == "");  // No other way stands in.
  bench.delivered("mail>robin drill");
  bench.delivered("text>sam drill");
  CHECK(bench.desk->outages() == 1);
  bench.store(bench.desk->end_drill(number, bench.now));
  CHECK(bench.desk->outages() == 0);
  CHECK(bench.desk->waiting() == 0);
}

TEST_CASE("drill: a real loss goes first, and what was not delivered of the drill is called off") {
  DeskBench bench;
  bench.settings.notifiers[3].at_once = 1;  // text
  bench.desk = std::make_unique<NoticeDesk>(bench.settings, bench.plan);
  drill(bench);
  CHECK(bench.send() == "mail>robin drill; text>robin drill");
  bench.decide(DecisionKind::loss);
  CHECK(bench.send() == "");  // The one place for texts is taken.
  bench.delivered("text>robin drill");
  CHECK(bench.send() == "text>robin loss");
  bench.delivered("text>robin loss");
  CHECK(bench.send() == "");
  CHECK(bench.flying[0].message.subject.starts_with("DRILL"));
  bench.decide(DecisionKind::recovery);
  CHECK(bench.send() == "text>robin recovery");
}

TEST_CASE("drill: goes on after a restart, with the same identifiers, until it is ended") {
  DeskBench bench;
  drill(bench);
  (void)bench.send();
  const std::string first = bench.flying[0].message.notice;
  bench.rows.drills = {{number, bench.now, "elm-street", "robin", "robin sam", "", false}};
  bench.restart();
  CHECK(bench.send() == "mail>robin drill; text>robin drill; text>sam drill");
  CHECK(bench.flying[0].message.notice == first);
  bench.rows.drills[0].closed = true;
  bench.restart();
  CHECK(bench.send() == "");
}

TEST_CASE("drill: acknowledging or shelving its number does nothing to the call lists") {
  DeskBench bench;
  drill(bench);
  bench.acknowledge(number);
  bench.store(bench.desk->on_put_away(number, bench.now));
  CHECK(bench.send() == "mail>robin drill; text>robin drill; text>sam drill");
}

TEST_CASE("drill plan: whom and where") {
  const Settings settings = sample::settings();
  CHECK(calls(plan_drill(settings, {"elm-street", "", ""})) ==
        "elm-street: robin/text/mail sam/text");
  CHECK(calls(plan_drill(settings, {"", "kim", ""})) == "oak-street: kim/text");
  CHECK(calls(plan_drill(settings, {"elm-street", "sam", ""})) == "elm-street: sam/text");
  CHECK(calls(plan_drill(settings, {"", "", ""})) ==
        "Say where: --site ID, one of elm-street, oak-street; or whom: --to KEYHOLDER.");
  CHECK(calls(plan_drill(settings, {"pine", "", ""})).starts_with("No site is called 'pine'."));
  CHECK(calls(plan_drill(settings, {"", "joe", ""})).starts_with("No keyholder is called 'joe'"));
  Settings lonely = settings;
  lonely.sites[1].call_list.reset();
  CHECK(calls(plan_drill(lonely, {"oak-street", "", ""})) ==
        "The site oak-street has no call list.");
  const DrillPlan whole = plan_drill(settings, settings.call_lists[1]);
  CHECK(whole.site.id == "oak-street");
}

TEST_CASE(
    "drill plan: monthly at a time of day, an hour long, and not in the night after a delay") {
  const DrillSettings monthly{Span::of_days(30), 10 * 60};
  const TimeZone utc;
  const WallTime start = sample::two_o_clock;  // 14:00, so the first is tomorrow at 10:00.
  const auto due = [&](std::optional<WallTime> last, Span after) {
    return drill_is_due(monthly, last, start, utc, start + after);
  };
  CHECK_FALSE(due({}, Span{}));
  CHECK_FALSE(due({}, Span::of_h(20) - Span::of_s(1)));
  CHECK(due({}, Span::of_h(20)));
  CHECK(due({}, Span::of_h(21) - Span::of_s(1)));
  CHECK_FALSE(due({}, Span::of_h(21)));  // Something was running all that hour.
  CHECK(due({}, Span::of_h(44)));        // The next day then.
  const WallTime first = start + Span::of_h(20) + Span::of_min(3);
  CHECK_FALSE(due(first, Span::of_h(20) + Span::of_min(4)));
  CHECK_FALSE(due(first, Span::of_h(20) + Span::of_days(29)));
  CHECK(due(first, Span::of_h(20) + Span::of_days(30)));
  CHECK_FALSE(drill_is_due({}, {}, start, utc, start + Span::of_days(90)));
  const DrillSettings often{Span::of_min(10), {}};
  CHECK(drill_is_due(often, {}, start, utc, start));
  CHECK_FALSE(drill_is_due(often, start, start, utc, start + Span::of_min(9)));
  CHECK(drill_is_due(often, start, start, utc, start + Span::of_min(10)));
}
