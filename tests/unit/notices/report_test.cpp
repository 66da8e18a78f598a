// What follows when a carrier reports later what became of a notice, and who was told.
#include <doctest/doctest.h>

#include "notices/desk_bench.h"

using namespace ebbwatch;
using sample::DeskBench;

namespace {

void report(DeskBench& bench, const std::string& notice, bool arrived) {
  REQUIRE_FALSE(bench.desk->under_way(notice));
  bench.store(bench.desk->on_report(notice, arrived, "word", bench.now, bench.entropy));
}

// Tells Robin by text. @return the notice's identifier.
std::string tell_robin(DeskBench& bench) {
  bench.decide(DecisionKind::loss);
  REQUIRE(bench.send() == "text>robin loss");
  return bench.flying[0].message.notice;
}

}  // namespace

TEST_CASE("report: a text that did not reach the telephone goes the next way at once") {
  DeskBench bench;
  const std::string text = tell_robin(bench);
  CHECK(bench.desk->under_way(text));
  bench.delivered("text>robin loss");
  report(bench, text, false);
  CHECK(bench.send() == "mail>robin loss");
  CHECK(bench.rows.notice(text).state == "dead_letter");
  CHECK(bench.rows.attempts().back().outcome == "reported_failed");
  bench.delivered("mail>robin loss");
  report(bench, text, false);  // Said twice: nothing more follows.
  CHECK(bench.send() == "");
  bench.decide(DecisionKind::recovery);
  CHECK(bench.send() == "mail>robin recovery");
}

TEST_CASE("report: one that arrived is kept in the record and changes nothing else") {
  DeskBench bench;
  const std::string text = tell_robin(bench);
  bench.delivered("text>robin loss");
  report(bench, text, true);
  CHECK(bench.rows.notice(text).state == "delivered");
  CHECK(bench.rows.attempts().back().outcome == "reported_arrived");
  CHECK(bench.rows.attempts().back().answer == "the carrier reports: word");
  CHECK(bench.send() == "");
}

TEST_CASE("report: a lost answer is settled by the report, so nothing is sent twice") {
  DeskBench bench;
  const std::string text = tell_robin(bench);
  bench.loses_answer("text>robin loss");
  report(bench, text, true);
  CHECK(bench.rows.notice(text).state == "delivered");
  bench.pass(Span::of_min(10));
  CHECK(bench.send() == "");
}

TEST_CASE("report: failure of a text that is to be tried again anyway changes nothing") {
  DeskBench bench;
  const std::string text = tell_robin(bench);
  bench.fails("text>robin loss");
  const std::string next = bench.send();
  report(bench, text, false);
  CHECK(bench.rows.notice(text).state == "waiting");
  CHECK(bench.send() == "");
  CHECK(next == "mail>robin loss");
}

TEST_CASE("report: after somebody took it on, a failed text starts nothing") {
  DeskBench bench;
  const std::string text = tell_robin(bench);
  bench.delivered("text>robin loss");
  bench.acknowledge(1, "sam");
  const std::string told = bench.send();
  report(bench, text, false);
  CHECK(bench.send().find("loss") == std::string::npos);
  CHECK(told == "text>robin acknowledged");
}

TEST_CASE("report: of an unknown notice, or one that is long over, nothing is kept") {
  DeskBench bench;
  const std::string text = tell_robin(bench);
  bench.delivered("text>robin loss");
  bench.decide(DecisionKind::recovery);
  bench.send();
  bench.delivered("text>robin recovery");
  const std::size_t before = bench.rows.attempts().size();
  report(bench, text, false);
  report(bench, "0198", true);
  CHECK(bench.rows.attempts().size() == before);
}

TEST_CASE("told: who may know of an outage, also after a restart, and nobody else") {
  DeskBench bench;
  CHECK_FALSE(bench.desk->was_told(1, "robin"));
  bench.decide(DecisionKind::loss);
  CHECK_FALSE(bench.desk->was_told(1, "robin"));
  bench.send();
  CHECK(bench.desk->was_told(1, "robin"));
  bench.delivered("text>robin loss");
  CHECK(bench.desk->was_told(1, "robin"));
  CHECK_FALSE(bench.desk->was_told(1, "sam"));
  CHECK_FALSE(bench.desk->was_told(2, "robin"));
  bench.restart();
  CHECK(bench.desk->was_told(1, "robin"));
  CHECK_FALSE(bench.desk->was_told(1, "sam"));
}
