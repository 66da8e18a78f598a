// The desk after a crash: who was told, and what is still to be sent.
#include <doctest/doctest.h>

#include "notices/desk_bench.h"

using namespace ebbwatch;
using sample::DeskBench;

TEST_CASE("restart: a notice in flight is offered again with the same identifier") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  const std::string id = bench.flying[0].message.notice;
  const std::string text = bench.flying[0].message.text;
  bench.restart();
  CHECK(bench.send() == "text>robin loss");
  CHECK(bench.flying[0].message.notice == id);
  CHECK(bench.flying[0].message.text == text);
}

TEST_CASE("restart: who was told hears of the recovery, nobody is told again") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.delivered("text>robin loss");
  bench.restart();
  CHECK(bench.send() == "");
  bench.decide(DecisionKind::recovery);
  CHECK(bench.send() == "text>robin recovery");
}

TEST_CASE("restart: the call list goes on where it was, with the story of the loss") {
  DeskBench bench;
  bench.decide(DecisionKind::loss, sample::tank(0), 1, Cause::mains_power, 0.9);
  (void)bench.send();
  bench.delivered("text>robin loss");
  bench.restart();
  bench.pass(Span::of_min(15));
  CHECK(bench.send() == "text>sam loss");
  CHECK(bench.flying[0].message.text.find("the mains power is off") != std::string::npos);
  bench.delivered("text>sam loss");
  bench.restart();
  bench.pass(Span::of_h(1));
  CHECK(bench.send() == "text>robin loss; text>sam loss");
}

TEST_CASE("restart: a list whose first step had not come yet is told from the outage's row") {
  Settings settings = sample::settings();
  settings.call_lists[0].steps.erase(settings.call_lists[0].steps.begin());
  DeskBench bench(settings);
  bench.decide(DecisionKind::loss);
  CHECK(bench.send() == "");
  bench.restart();
  bench.pass(Span::of_min(15));
  CHECK(bench.send() == "text>sam loss");
  CHECK(bench.flying[0].message.subject.starts_with("Lagoon reef, Elm Street: no contact since"));
  CHECK(bench.flying[0].message.data_json.find("\"outage\": \"harbour-1\"") != std::string::npos);
}

TEST_CASE("restart: an acknowledgement holds") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.delivered("text>robin loss");
  bench.acknowledge();
  bench.restart();
  bench.pass(Span::of_h(2) - Span::of_s(1));
  CHECK(bench.send() == "");
}

TEST_CASE("restart: a wait of the backoff is kept, with its number of attempts") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.answer("text>robin loss", Outcome::Kind::retry_later, Span::of_min(10));
  (void)bench.send();
  bench.delivered("mail>robin loss");
  bench.restart();
  bench.pass(Span::of_min(9));
  CHECK(bench.send() == "");
  bench.pass(Span::of_min(1));
  CHECK(bench.send() == "text>robin loss");
  CHECK(bench.flying[0].message.attempt == 2);
}

TEST_CASE("restart: a loss in flight at the recovery becomes one combined notice") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.decide(DecisionKind::recovery);
  bench.restart();
  CHECK(bench.send() == "text>robin recovery");
  CHECK(bench.flying[0].message.text.find("stands for both") != std::string::npos);
  bench.delivered("text>robin recovery");
  bench.restart();
  CHECK(bench.send() == "");
  CHECK(bench.desk->notices() == 0);
}

TEST_CASE("restart: a loss in flight at the acknowledgement is not offered again") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.acknowledge();
  bench.restart();
  CHECK(bench.send() == "");
  bench.decide(DecisionKind::recovery);
  CHECK(bench.send() == "text>robin recovery");  // It may have arrived, so both in one.
}

TEST_CASE("restart: a reminder in flight at the recovery is not offered again") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.delivered("text>robin loss");
  bench.pass(Span::of_min(15));
  (void)bench.send();
  bench.delivered("text>sam loss");
  bench.pass(Span::of_h(1));
  CHECK(bench.send() == "text>robin loss; text>sam loss");
  bench.decide(DecisionKind::recovery);
  bench.restart();
  CHECK(bench.send() == "text>robin recovery; text>sam recovery");
  CHECK(bench.flying[0].message.text.find("stands for both") == std::string::npos);
}

TEST_CASE("restart: fail over is done once, also across the restart") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.fails("text>robin loss");
  (void)bench.send();
  bench.delivered("mail>robin loss");
  bench.restart();
  bench.pass(Span::of_min(2));
  CHECK(bench.send() == "text>robin loss");
  bench.fails("text>robin loss");
  CHECK(bench.send() == "");
}

TEST_CASE("restart: a notice whose notifier is gone is given up, and the next way takes over") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.settings.notifiers.pop_back();  // text
  bench.restart();
  CHECK(bench.send() == "mail>robin loss");
  CHECK(bench.stored().starts_with("text>robin loss dead_letter 0"));
}

TEST_CASE("reload: a notice whose notifier is gone is given up, one in flight is waited for") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.settings.notifiers.pop_back();  // text
  bench.store(bench.desk->reload(bench.settings, bench.plan, bench.now, bench.entropy));
  CHECK(bench.stored() == "text>robin loss waiting 0");
  bench.fails("text>robin loss");
  bench.store(bench.desk->reload(bench.settings, bench.plan, bench.now, bench.entropy));
  CHECK(bench.stored().starts_with("text>robin loss dead_letter 1; mail>robin loss waiting"));
}

TEST_CASE("restart: a row that cannot be read is a visible dead letter, not a silent loss") {
  DeskBench bench;
  StoredState state;
  NoticeRow row;
  row.notice = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f";
  row.outage = 3;
  row.keyholder = "robin";
  row.notifier = "text";
  row.kind = "loss";
  for (const char* json : {"", "{", "{}", "{\"desk\":{}}", "[]"}) {
    row.message_json = json;
    state.notices = {row};
    NoticeDesk desk(bench.settings, bench.plan);
    const Changes changes = desk.restore(state, bench.now, bench.entropy);
    REQUIRE(changes.notices.size() == 1);
    CHECK(changes.notices[0].state == "dead_letter");
    CHECK(changes.notices[0].ended_at);
    CHECK(changes.remarks.size() == 1);
    CHECK(desk.waiting() == 0);
  }
}

TEST_CASE("restart: a recovery held for a loss that is not stored any more is told as combined") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.decide(DecisionKind::recovery);
  StoredState state = bench.rows.load();
  std::erase_if(state.notices, [](const NoticeRow& row) { return row.kind == "loss"; });
  REQUIRE(state.notices.size() == 1);
  bench.flying.clear();
  bench.desk = std::make_unique<NoticeDesk>(bench.settings, bench.plan);
  bench.store(bench.desk->restore(state, bench.now, bench.entropy));
  CHECK(bench.send() == "text>robin recovery");
  CHECK(bench.flying[0].message.text.find("stands for both") != std::string::npos);
}

TEST_CASE("restart: rows come back as they were") {
  DeskBench bench;
  bench.decide(DecisionKind::loss, sample::tank(0), 1, Cause::mains_power, 0.9);
  (void)bench.send();
  bench.fails("text>robin loss");
  for (const NoticeRow& row : bench.rows.notices()) {
    const Result<Notice> back = from_row(row);
    REQUIRE(back.ok());
    const NoticeRow again = to_row(back.value());
    CHECK(again.message_json == row.message_json);
    CHECK(again.state == row.state);
    CHECK(again.attempts == row.attempts);
    CHECK(again.kind == row.kind);
    CHECK(again.keyholder == row.keyholder);
    CHECK(again.last_answer == row.last_answer);
    CHECK(again.created_at.us == row.created_at.us);
    CHECK(again.next_attempt_at.us == row.next_attempt_at.us);
  }
}
