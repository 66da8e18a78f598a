// Who hears of the end of an outage, and of revisions on the way.
#include <doctest/doctest.h>

#include "notices/desk_bench.h"

using namespace ebbwatch;
using sample::DeskBench;

namespace {

DeskBench told_by_text() {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.delivered("text>robin loss");
  return bench;
}

}  // namespace

TEST_CASE("recovery: goes to whoever was told, by the way that delivered, and to nobody else") {
  DeskBench bench = told_by_text();
  bench.pass(Span::of_min(3));
  bench.decide(DecisionKind::recovery);
  CHECK(bench.send() == "text>robin recovery");
  CHECK(bench.flying[0].message.text.find("may not have reached you") == std::string::npos);
  bench.delivered("text>robin recovery");
  bench.pass(Span::of_days(1));
  CHECK(bench.send() == "");
  CHECK(bench.rows.call(1).closed);
}

TEST_CASE("recovery: by every way that delivered the loss") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.pass(Span::of_s(30));
  (void)bench.send();
  bench.delivered("mail>robin loss");
  bench.delivered("text>robin loss");
  bench.decide(DecisionKind::recovery);
  CHECK(bench.send() == "mail>robin recovery; text>robin recovery");
}

TEST_CASE("recovery: also to a person who was taken off the call list since") {
  DeskBench bench = told_by_text();
  bench.settings.call_lists[0].steps[0].tell = {"sam"};
  bench.decide(DecisionKind::recovery);
  CHECK(bench.send() == "text>robin recovery");
}

TEST_CASE("recovery: before the loss was delivered gives one combined notice, and no stale loss") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.answer("text>robin loss", Outcome::Kind::retry_later, Span::of_min(20));
  (void)bench.send();
  bench.answer("mail>robin loss", Outcome::Kind::retry_later, Span::of_min(20));
  bench.pass(Span::of_min(3));
  bench.decide(DecisionKind::recovery);
  CHECK(bench.send() == "text>robin recovery");
  CHECK(bench.flying[0].message.subject.find("was lost") != std::string::npos);
  CHECK(bench.flying[0].message.text.find("stands for both") != std::string::npos);
  bench.delivered("text>robin recovery");
  bench.pass(Span::of_days(1));
  CHECK(bench.send() == "");
  CHECK(bench.stored() ==
        "text>robin loss withdrawn 1; mail>robin loss withdrawn 1; text>robin recovery delivered "
        "1");
}

TEST_CASE("recovery: a combined notice fails over like a loss") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  bench.decide(DecisionKind::recovery);
  CHECK(bench.send() == "text>robin recovery");
  bench.refuses("text>robin recovery");
  CHECK(bench.send() == "mail>robin recovery");
}

TEST_CASE(
    "recovery: an attempt in flight decides; delivered means a recovery follows by that way") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.decide(DecisionKind::recovery);
  CHECK(bench.send() == "");
  bench.delivered("text>robin loss");
  CHECK(bench.send() == "text>robin recovery");
  CHECK(bench.flying[0].message.first_notice != "");
}

TEST_CASE("recovery: an attempt in flight decides; failed means one combined notice") {
  for (Outcome::Kind kind :
       {Outcome::Kind::retry_later, Outcome::Kind::unknown, Outcome::Kind::rejected_forever}) {
    DeskBench bench;
    bench.decide(DecisionKind::loss);
    (void)bench.send();
    bench.decide(DecisionKind::recovery);
    bench.answer("text>robin loss", kind);
    CHECK(bench.send() == "text>robin recovery");
    CHECK(bench.flying[0].message.text.find("stands for both") != std::string::npos);
    bench.refuses("text>robin recovery");
    CHECK(bench.send() == "mail>robin recovery");
  }
}

TEST_CASE("recovery: two attempts in flight, one delivered, give one recovery by that way") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.pass(Span::of_s(30));
  (void)bench.send();
  bench.decide(DecisionKind::recovery);
  bench.refuses("text>robin loss");
  CHECK(bench.send() == "");
  bench.delivered("mail>robin loss");
  CHECK(bench.send() == "mail>robin recovery");
  bench.delivered("mail>robin recovery");
  CHECK(bench.desk->waiting() == 0);
}

TEST_CASE("recovery: two attempts in flight, both failed, give one combined notice") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.pass(Span::of_s(30));
  (void)bench.send();
  bench.decide(DecisionKind::recovery);
  bench.fails("text>robin loss");
  bench.fails("mail>robin loss");
  CHECK(bench.send() == "mail>robin recovery");
  bench.refuses("mail>robin recovery");
  CHECK(bench.send() == "text>robin recovery");
}

TEST_CASE("recovery: nobody whom the loss surely never reached hears of it") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.refuses("text>robin loss");
  (void)bench.send();
  bench.refuses("mail>robin loss");
  (void)bench.send();
  bench.delivered("text>sam loss");
  bench.decide(DecisionKind::recovery);
  CHECK(bench.send() == "text>sam recovery");
}

TEST_CASE("recovery: after a lost answer and an acknowledgement the person hears both in one") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.loses_answer("text>robin loss");
  bench.acknowledge();
  bench.decide(DecisionKind::recovery);
  CHECK(bench.send() == "text>robin recovery");
}

TEST_CASE("recovery: of an outage that the desk does not know tells nobody") {
  DeskBench bench;
  bench.decide(DecisionKind::recovery);
  CHECK(bench.send() == "");
  CHECK(bench.stored() == "");
}

TEST_CASE("recovery: says how long contact was gone, also when only the loss knows") {
  sample::use_utc();
  DeskBench bench = told_by_text();
  bench.now = sample::two_o_clock + Span::of_min(30);
  Decision back = sample::decision(DecisionKind::recovery, sample::tank(0), 1);
  DeskContext context = sample::context(bench.now);
  context.since = sample::two_o_clock + Span::of_min(28);
  bench.store(bench.desk->on_decision(back, context, bench.entropy));
  (void)bench.send();
  CHECK(bench.flying[0].message.subject == "Lagoon reef, Elm Street: contact is back after 40 min");
  CHECK(bench.flying[0].message.text.find("from 13:48 to 14:28") != std::string::npos);
}

TEST_CASE("revision: only a wider scope, or another cause that is likely enough, is told") {
  DeskBench bench = told_by_text();
  bench.decide(DecisionKind::cause_revised, sample::tank(0), 1, Cause::mains_power, 0.79);
  CHECK(bench.send() == "");
  bench.decide(DecisionKind::cause_revised, sample::tank(0), 1, Cause::mains_power, 0.8);
  CHECK(bench.send() == "text>robin cause_revised");
  bench.delivered("text>robin cause_revised");
  bench.decide(DecisionKind::cause_revised, sample::tank(0), 1, Cause::mains_power, 0.95);
  CHECK(bench.send() == "");
  bench.decide(DecisionKind::cause_revised, {Scope::site, 0}, 1, Cause::mains_power, 0.5);
  CHECK(bench.send() == "text>robin cause_revised");
}

TEST_CASE("revision: a notice that nobody can have read yet is corrected instead") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  bench.decide(DecisionKind::cause_revised, sample::tank(0), 1, Cause::mains_power, 0.9);
  CHECK(bench.send() == "text>robin loss");
  CHECK(bench.flying[0].message.subject.find("very probably mains power off") != std::string::npos);
  CHECK(bench.flying[0].message.data_json.find("\"decision\": \"loss\"") != std::string::npos);
}

TEST_CASE("revision: waits for a loss in flight, and goes with it when that fails for good") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.decide(DecisionKind::cause_revised, sample::tank(0), 1, Cause::mains_power, 0.9);
  CHECK(bench.send() == "");
  bench.delivered("text>robin loss");
  CHECK(bench.send() == "text>robin cause_revised");

  DeskBench other;
  other.decide(DecisionKind::loss);
  (void)other.send();
  other.decide(DecisionKind::cause_revised, sample::tank(0), 1, Cause::mains_power, 0.9);
  other.refuses("text>robin loss");
  CHECK(other.send() == "mail>robin loss");
}

TEST_CASE("revision: one held for a fallback ends when the fallback is called off") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.pass(Span::of_s(30));
  (void)bench.send();
  bench.answer("mail>robin loss", Outcome::Kind::unknown, Span::of_min(5));
  bench.decide(DecisionKind::cause_revised, sample::tank(0), 1, Cause::mains_power, 0.9);
  CHECK(bench.send() == "");
  bench.delivered("text>robin loss");
  CHECK(bench.send() == "text>robin cause_revised");
  bench.delivered("text>robin cause_revised");
  CHECK(bench.desk->waiting() == 0);
}

TEST_CASE("revision: a way that is tried after it tells the loss as it is known by then") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.decide(DecisionKind::cause_revised, sample::tank(0), 1, Cause::mains_power, 0.9);
  bench.pass(Span::of_s(30));
  CHECK(bench.send() == "mail>robin loss");
  CHECK(bench.flying[1].message.text.find("the mains power is off") != std::string::npos);
}

TEST_CASE("revision: a wider scope starts the call lists of the other sites with the loss") {
  DeskBench bench = told_by_text();
  bench.acknowledge();
  bench.pass(Span::of_min(4));
  bench.decide(DecisionKind::cause_revised, {Scope::area, 0}, 1, Cause::mains_power, 0.9);
  CHECK(bench.send() == "text>robin cause_revised; text>kim loss");
  CHECK(bench.flying[1].message.subject.starts_with("Area north-side: no contact"));
  bench.delivered("text>robin cause_revised");
  bench.delivered("text>kim loss");
  bench.decide(DecisionKind::recovery, {Scope::area, 0});
  CHECK(bench.send() == "text>robin recovery; text>kim recovery");
}

TEST_CASE("revision: later steps and reminders tell what is known by then") {
  DeskBench bench = told_by_text();
  bench.decide(DecisionKind::cause_revised, sample::tank(0), 1, Cause::internet, 0.9);
  (void)bench.send();
  bench.delivered("text>robin cause_revised");
  bench.pass(Span::of_min(15));
  CHECK(bench.send() == "text>sam loss");
  CHECK(bench.flying[0].message.text.find("the internet link is down") != std::string::npos);
}

TEST_CASE("watch gap: nobody is told when the watcher has no call list") {
  Settings settings = sample::settings();
  settings.watcher.call_list.reset();
  DeskBench bench(settings);
  bench.decide(DecisionKind::watch_gap, {Scope::watcher, 0}, 0);
  CHECK(bench.send() == "");
}

TEST_CASE("drill: every notice of it is marked, also in its row") {
  DeskBench bench;
  DeskContext context = sample::context(bench.now);
  context.drill = true;
  bench.store(bench.desk->on_decision(sample::decision(DecisionKind::loss, sample::tank(0), 1),
                                      context, bench.entropy));
  CHECK(bench.send() == "text>robin drill");
  CHECK(bench.flying[0].message.subject.starts_with("DRILL: "));
  CHECK(bench.flying[0].message.short_text.starts_with("DRILL"));
  CHECK(bench.flying[0].message.text.starts_with("This is a DRILL."));
  CHECK(bench.stored() == "text>robin drill waiting 0");
}
