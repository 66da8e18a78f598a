// Readings out of their limits: who is told, how urgently, and what outlives a restart.
#include "notices/reading_news.h"

#include <doctest/doctest.h>

#include "notices/desk_bench.h"
#include "notices/story_json.h"

using namespace ebbwatch;
using sample::DeskBench;

namespace {

constexpr OutageId number = 9;

void tell(DeskBench& bench, DecisionKind kind, ReadingState state = ReadingState::high) {
  const Decision made = sample::decision(kind, sample::tank(0), number);
  const ReadingNews news{"temperature_c", "lagoon-main", state, 28.6, 27.5};
  bench.store(bench.desk->on_reading(made, news, R"({"decision":"reading_alarm"})",
                                     sample::context(bench.now), bench.entropy));
}

}  // namespace

TEST_CASE("reading: a limit that is passed goes through the call list like a loss, its end too") {
  DeskBench bench;
  tell(bench, DecisionKind::loss);
  CHECK(bench.send() == "text>robin reading_alarm");
  const Message& message = bench.flying[0].message;
  CHECK(message.subject.find("water 28.6 °C, limit 27.5 °C") != std::string::npos);
  CHECK(message.text.find("contact") == std::string::npos);
  CHECK(message.data_json.find("\"decision\":\"reading_alarm\"") != std::string::npos);
  bench.delivered("text>robin reading_alarm");
  tell(bench, DecisionKind::loss);  // Told once.
  CHECK(bench.send() == "");
  bench.pass(Span::of_min(15));
  CHECK(bench.send() == "text>sam reading_alarm");
  bench.delivered("text>sam reading_alarm");
  tell(bench, DecisionKind::recovery);
  CHECK(bench.send() == "text>robin reading_normal; text>sam reading_normal");
}

TEST_CASE("reading: whoever takes it on stops the list, and a restart keeps that") {
  DeskBench bench;
  tell(bench, DecisionKind::loss);
  (void)bench.send();
  bench.delivered("text>robin reading_alarm");
  bench.acknowledge(number);
  bench.restart();
  bench.pass(Span::of_min(60));
  CHECK(bench.send() == "");
  CHECK(bench.desk->taken_by(number) == "robin");
}

TEST_CASE("reading: killed in between, the list goes on with the same words") {
  DeskBench bench;
  tell(bench, DecisionKind::loss);
  (void)bench.send();
  bench.delivered("text>robin reading_alarm");
  bench.restart();
  bench.pass(Span::of_min(15));
  CHECK(bench.send() == "text>sam reading_alarm");
  CHECK(bench.flying[0].message.short_text.find("28.6") != std::string::npos);
  bench.delivered("text>sam reading_alarm");
  tell(bench, DecisionKind::recovery);
  CHECK(bench.send() == "text>robin reading_normal; text>sam reading_normal");
}

TEST_CASE("reading: what is only unusual, stuck or missing wakes nobody") {
  for (const ReadingState state : {ReadingState::above_usual, ReadingState::below_usual,
                                   ReadingState::unchanged, ReadingState::missing}) {
    DeskBench bench;
    tell(bench, DecisionKind::loss, state);
    CHECK(bench.send() == "");
    tell(bench, DecisionKind::recovery, state);
    CHECK(bench.send() == "");
    bench.pass(Span::of_h(25));
    CHECK(bench.send() == "mail>robin digest");
    CHECK(bench.flying[0].message.text.find("28.6") != std::string::npos);
  }
}

TEST_CASE("reading: put away it rests, and is told again when that has ended") {
  DeskBench bench;
  tell(bench, DecisionKind::loss);
  (void)bench.send();
  bench.delivered("text>robin reading_alarm");
  bench.store(bench.desk->on_put_away(number, bench.now));
  bench.pass(Span::of_h(2));
  CHECK(bench.send() == "");
  tell(bench, DecisionKind::loss);
  CHECK(bench.send() == "text>robin reading_alarm");
}

TEST_CASE("reading: a story comes back from the store as it was") {
  Story story;
  story.decision_json = "{}";
  story.reading = {"watts.return-pump", "lagoon-main", ReadingState::below_usual, 41.2, 50};
  const auto read = story_from_json(story_to_json(story));
  REQUIRE(read.ok());
  REQUIRE(read.value().reading);
  CHECK(read.value().reading->name == "watts.return-pump");
  CHECK(read.value().reading->controller == "lagoon-main");
  CHECK(read.value().reading->state == ReadingState::below_usual);
  CHECK(*read.value().reading->value == 41.2);
  CHECK(read.value().reading->bound == 50);
  story.reading.reset();
  CHECK_FALSE(story_from_json(story_to_json(story)).value().reading);
}
