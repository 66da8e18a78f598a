#include "notices/notice_desk.h"

#include <doctest/doctest.h>

#include "core/limits.h"
#include "notices/desk_bench.h"

using namespace ebbwatch;
using sample::DeskBench;

TEST_CASE("desk: a loss goes to the first step by the first way, and nothing else does") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  CHECK(bench.send() == "text>robin loss");
  bench.delivered("text>robin loss");
  bench.pass(Span::of_min(14));
  CHECK(bench.send() == "");
  CHECK(bench.stored() == "text>robin loss delivered 1");
  CHECK(bench.rows.attempts().size() == 1);
}

TEST_CASE("desk: nothing new is offered before its rows were committed") {
  DeskBench bench;
  const Changes changes =
      bench.desk->on_decision(sample::decision(DecisionKind::loss, {Scope::tank, 0}, 1),
                              sample::context(bench.now), bench.entropy);
  CHECK(changes.notices.size() == 1);
  CHECK(changes.calls.size() == 1);
  CHECK(bench.send() == "");
  bench.desk->committed(changes.ticket - 1);
  CHECK(bench.send() == "");
  bench.desk->committed(changes.ticket);
  CHECK(bench.send() == "text>robin loss");
  CHECK(bench.send() == "");
}

TEST_CASE("desk: a way that fails is followed by the next at once, while the first goes on") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.fails("text>robin loss");
  CHECK(bench.send() == "mail>robin loss");
  bench.delivered("mail>robin loss");
  bench.pass(Span::of_s(20));
  CHECK(bench.send() == "text>robin loss");
  CHECK(bench.flying[0].message.attempt == 2);
  bench.delivered("text>robin loss");
  CHECK(bench.stored() == "text>robin loss delivered 2; mail>robin loss delivered 1");
}

TEST_CASE("desk: a way that does not answer in time is followed by the next") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.pass(Span::of_s(29));
  CHECK(bench.send() == "");
  bench.pass(Span::of_s(1));
  CHECK(bench.send() == "mail>robin loss");
  bench.pass(Span::of_s(300));
  CHECK(bench.send() == "");
}

TEST_CASE(
    "desk: a fallback that was not delivered is called off when the better way gets through") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.fails("text>robin loss");
  (void)bench.send();
  bench.answer("mail>robin loss", Outcome::Kind::retry_later, Span::of_min(5));
  bench.pass(Span::of_s(10));
  (void)bench.send();
  bench.delivered("text>robin loss");
  CHECK(bench.stored() == "text>robin loss delivered 2; mail>robin loss withdrawn 1");
}

TEST_CASE("desk: the next step comes after its delay, with words that say why") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.delivered("text>robin loss");
  bench.pass(Span::of_min(15));
  CHECK(bench.send() == "text>sam loss");
  CHECK(bench.flying[0].message.text.find("Nobody has acknowledged it so far") !=
        std::string::npos);
  bench.delivered("text>sam loss");
  bench.pass(Span::of_h(1));
  CHECK(bench.send() == "text>robin loss; text>sam loss");
  CHECK(bench.flying[0].message.subject.find("still no contact") != std::string::npos);
}

TEST_CASE("desk: reminders end after repeat_at_most") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  std::size_t sends = 0;
  for (int minutes = 0; minutes < 600; ++minutes) {
    (void)bench.send();
    while (!bench.flying.empty()) {
      ++sends;
      bench.delivered(DeskBench::label(bench.flying[0]));
    }
    bench.pass(Span::of_min(1));
  }
  CHECK(sends == 2 + 2 * 2);
}

TEST_CASE("desk: after an acknowledgement nobody else is told, and what waits is withdrawn") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.fails("text>robin loss");
  (void)bench.send();
  bench.delivered("mail>robin loss");
  bench.acknowledge();
  CHECK(bench.rows.call(1).acknowledged);
  CHECK(bench.rows.call(1).acknowledged_by == "robin");
  bench.pass(Span::of_h(2) - Span::of_s(1));
  CHECK(bench.send() == "");
  CHECK(bench.stored() == "text>robin loss withdrawn 1; mail>robin loss delivered 1");
}

TEST_CASE("desk: the next step does not wait when nobody of the first can be reached") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.refuses("text>robin loss");
  (void)bench.send();
  bench.refuses("mail>robin loss");
  CHECK(bench.send() == "text>sam loss");
  REQUIRE(bench.remarks.size() == 2);
  CHECK(bench.remarks[0] == "Gave up telling robin by text: answer");
}

TEST_CASE("desk: a person without an address for any way is passed over, with a remark") {
  Settings settings = sample::settings();
  settings.keyholders[0].email.clear();
  settings.keyholders[0].phone.clear();
  DeskBench bench(settings);
  bench.decide(DecisionKind::loss);
  CHECK(bench.send() == "text>sam loss");
  REQUIRE(bench.remarks.size() == 1);
  CHECK(bench.remarks[0].find("robin") != std::string::npos);
}

TEST_CASE("desk: a webhook and a program need no address") {
  Settings settings = sample::settings();
  settings.keyholders[0].email.clear();
  settings.keyholders[0].phone.clear();
  settings.call_lists[0].steps = {{Span{}, {"robin"}, {"text", "mail", "hook"}},
                                  {Span{}, {"robin"}, {"siren"}}};
  DeskBench bench(settings);
  bench.decide(DecisionKind::loss);
  CHECK(bench.send() == "hook>robin loss; siren>robin loss");
}

TEST_CASE("desk: a site without a call list tells nobody and says so") {
  Settings settings = sample::settings();
  settings.sites[0].call_list.reset();
  DeskBench bench(settings);
  bench.decide(DecisionKind::loss);
  CHECK(bench.send() == "");
  REQUIRE(bench.remarks.size() == 1);
  CHECK(bench.remarks[0].find("no call list") != std::string::npos);
}

TEST_CASE("desk: at most so many attempts of one notifier are under way; another is not delayed") {
  Settings settings = sample::settings();
  for (int i = 0; i < 9; ++i) {
    settings.keyholders.push_back(
        sample::keyholder("p" + std::to_string(i), "", "a@example.net", "+15550199"));
    settings.call_lists[1].steps.push_back({Span{}, {"p" + std::to_string(i)}, {"text"}});
  }
  settings.call_lists[1].steps.push_back({Span{}, {"sam"}, {"mail"}});
  DeskBench bench(settings);
  bench.decide(DecisionKind::loss, sample::tank(2));
  CHECK(bench.send() == "mail>sam loss; text>kim loss; text>p0 loss; text>p1 loss; text>p2 loss");
  CHECK(bench.desk->in_flight("text") == limits::notices_in_flight_per_notifier_max);
  CHECK(bench.desk->queued("text", bench.now) == 6);
  bench.delivered("text>p0 loss");
  CHECK(bench.send().starts_with("text>p"));
  CHECK(bench.send() == "");
}

TEST_CASE("desk: a full queue asks for no wake-up until a place is free") {
  Settings settings = sample::settings();
  settings.call_lists[1].steps[0].tell = {"kim", "robin", "sam"};
  DeskBench bench(settings);
  bench.decide(DecisionKind::loss, sample::tank(2), 1);
  bench.decide(DecisionKind::loss, sample::tank(2), 2);
  CHECK(bench.desk->next_deadline()->us == bench.now.us);
  (void)bench.send();
  CHECK(bench.desk->queued("text", bench.now) == 2);
  CHECK_FALSE(bench.desk->next_deadline());
}

TEST_CASE("desk: a late notice says that it is late, with the same identifier") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  const std::string first = bench.flying[0].message.notice;
  bench.answer("text>robin loss", Outcome::Kind::retry_later, Span::of_min(40));
  bench.pass(Span::of_min(40));
  (void)bench.send();
  const Send* again = nullptr;
  for (const Send& attempt : bench.flying) {
    if (attempt.message.notice == first) again = &attempt;
  }
  REQUIRE(again != nullptr);
  CHECK(again->message.attempt == 2);
  CHECK(again->message.text.find("it could be sent only now") != std::string::npos);
}

TEST_CASE("desk: a second loss of the same outage and answers to unknown notices change nothing") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  const std::string before = bench.stored();
  bench.decide(DecisionKind::loss);
  CHECK(bench.stored() == before);
  const Changes none = bench.desk->on_outcome("nobody", {}, bench.now, bench.entropy);
  CHECK(none.empty());
  CHECK(none.ticket == 0);
  CHECK(bench.desk->on_acknowledge(99, {"robin", AnswerWay::board}, bench.now, bench.entropy)
            .empty());
}

TEST_CASE("desk: what has ended is forgotten, so memory stays bounded") {
  DeskBench bench;
  for (KeyholderSettings& person : bench.settings.keyholders) person.summary_above = 0;
  for (OutageId outage = 1; outage <= 200; ++outage) {
    bench.decide(DecisionKind::loss, sample::tank(0), outage);
    (void)bench.send();
    bench.delivered("text>robin loss");
    bench.decide(DecisionKind::recovery, sample::tank(0), outage);
    (void)bench.send();
    bench.delivered("text>robin recovery");
    CHECK(bench.desk->outages() == 0);
    CHECK(bench.desk->notices() == 0);
  }
  CHECK_FALSE(bench.desk->next_deadline());
}

TEST_CASE("desk: the message carries who, what and a thread") {
  sample::use_utc();
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  const Message loss = bench.flying[0].message;
  CHECK(loss.outage == "harbour-1");
  CHECK(loss.event_type == "ebbwatch.loss");
  CHECK(loss.subject_id == "lagoon");
  CHECK(loss.to_name == "Robin");
  CHECK(loss.to_phone == "+15550100");
  CHECK(loss.to_email == "robin@example.net");
  CHECK(loss.first_notice == "");
  CHECK(loss.decided_at.us == bench.now.us);
  bench.delivered("text>robin loss");
  bench.decide(DecisionKind::recovery);
  (void)bench.send();
  CHECK(bench.flying[0].message.first_notice == loss.notice);
  CHECK(bench.flying[0].message.notice != loss.notice);
  // RFC 9562: version 7.
  CHECK(loss.notice.size() == 36);
  CHECK(loss.notice[14] == '7');
}
