// Notices in the language of the person who gets them.
#include <doctest/doctest.h>

#include <boost/json/object.hpp>

#include "notices/desk_bench.h"
#include "notices/evidence_words.h"
#include "notices/examples.h"
#include "notices/story_json.h"
#include "text/gsm7.h"

using namespace ebbwatch;

namespace {

using Code = Evidence::Code;

const WallTime noon = sample::two_o_clock;

/// One of each kind, with the counts that choose between "one" and "many".
std::vector<Evidence> every_evidence() {
  std::vector<Evidence> all;
  for (int code = 0; code <= static_cast<int>(Code::was_put_away); ++code) {
    for (std::uint32_t count : {0U, 1U, 2U, 7U}) {
      for (std::uint32_t total : {1U, 3U}) {
        Evidence it = sample::evidence(static_cast<Code>(code), {Scope::controller, count % 2},
                                       noon - Span::of_min(30));
        it.count = count;
        it.total = total;
        it.span = count == 0 ? Span{} : Span::of_min(26);
        all.push_back(it);
      }
    }
  }
  return all;
}

std::vector<std::string> told(Language language, const Evidence& it) {
  Decision decision;
  decision.evidence.push(it);
  return sentences_in(Speech(language, noon), decision, sample::shared_plan(), {});
}

Settings with_german_robin() {
  Settings all = sample::settings();
  all.keyholders[0].languages = {"fr", "de-AT", "en"};
  return all;
}

}  // namespace

TEST_CASE("evidence: the catalogue's English is the core's, word for word") {
  sample::use_utc();
  const auto time_text = [](Instant at) { return time_of_day(WallTime{at.us}, noon); };
  for (const Evidence& it : every_evidence()) {
    CHECK(told(Language::english, it) ==
          std::vector<std::string>{sentence(it, sample::shared_plan(), time_text)});
  }
}

TEST_CASE("evidence: every sentence is one in every language, without an open gap") {
  sample::use_utc();
  for (const Language language : all_languages) {
    for (const Evidence& it : every_evidence()) {
      const std::vector<std::string> sentences = told(language, it);
      REQUIRE(sentences.size() == 1);
      CAPTURE(sentences[0]);
      CHECK(sentences[0].ends_with('.'));
      CHECK(sentences[0].find('{') == std::string::npos);
      CHECK((language == Language::english || sentences != told(Language::english, it)));
    }
  }
}

TEST_CASE("languages: a keyholder gets the first known one, others theirs; data stay as they are") {
  sample::use_utc();
  sample::DeskBench bench(with_german_robin());
  bench.decide(DecisionKind::loss, sample::tank(0), 1, Cause::mains_power, 0.85);
  bench.send();
  REQUIRE_FALSE(bench.flying.empty());
  const Message robin = bench.flying[0].message;
  CHECK(robin.keyholder == "robin");
  CHECK(robin.text.starts_with("Kein Kontakt mit Lagoon reef (Elm Street) seit "));
  CHECK(robin.subject.find("kein Kontakt seit") != std::string::npos);
  CHECK(robin.short_text.find("Hände trocken") != std::string::npos);
  CHECK(robin.event_type == "ebbwatch.loss");
  CHECK(robin.data_json.find("\"decision\": \"loss\"") != std::string::npos);
  CHECK(robin.data_json.find("\"cause\": \"mains_power\"") != std::string::npos);
}

TEST_CASE(
    "languages: a notice keeps its language over a restart, and one of an older version English") {
  sample::use_utc();
  sample::DeskBench bench(with_german_robin());
  bench.decide(DecisionKind::loss);
  NoticeRow row = bench.rows.notices().at(0);
  Result<Notice> back = from_row(row);
  REQUIRE(back.ok());
  CHECK(back.value().language == Language::german);
  CHECK(row.message_json.find("\"language\":\"de\"") != std::string::npos);
  const std::string member = "\"language\":\"de\",";
  while (row.message_json.find(member) != std::string::npos) {
    row.message_json.erase(row.message_json.find(member), member.size());
  }
  Result<Notice> older = from_row(row);
  REQUIRE(older.ok());
  CHECK(older.value().language == Language::english);
  CHECK(older.value().story.translations.empty());
}

TEST_CASE("languages: a story keeps its translations, and tells in English where it has none") {
  sample::use_utc();
  const Story story = sample::story_of(sample::power_cut(DecisionKind::loss, sample::tank(0)),
                                       sample::context_with_reading(noon + Span::of_min(12), noon));
  REQUIRE(story.translations.size() == 2);
  const Result<Story> read = story_from_json(story_to_json(story));
  REQUIRE(read.ok());
  const Translation german = told_in(read.value(), Language::german);
  CHECK(german.last_reading == "Wasser 25,4 °C, pH 8,1, heater 150 W");
  REQUIRE(german.evidence.size() == 2);
  CHECK(german.evidence[0] ==
        "Die batteriegestützte Steuerung lagoon-logger meldete um 14:03 Stromausfall.");
  boost::json::object older = story_to_json(story);
  older.erase("translations");
  const Result<Story> plain = story_from_json(older);
  REQUIRE(plain.ok());
  CHECK(told_in(plain.value(), Language::german).last_reading == story.last_reading);
  const std::string text =
      whole_text(plain.value(), {Occasion::first, plain.value().at, "", "", Language::german});
  CHECK(text.find("lagoon-main was last heard at 14:00.") != std::string::npos);
}

TEST_CASE("languages: what an older version wrote of somebody not reached is told as it is") {
  sample::use_utc();
  Story story = sample::story_of(sample::decision(DecisionKind::loss, sample::tank(0), 17),
                                 sample::context(noon));
  story.topic = Topic::undelivered;
  story.remark = "Sam by text, answer: 400";
  const std::string text = whole_text(story, {Occasion::first, noon});
  CHECK(text.find("arrive: Sam by text") != std::string::npos);
  CHECK(text.find("answer: 400.\n") != std::string::npos);
  CHECK(short_text(story, {Occasion::first, noon, "", "", Language::spanish})
            .find("No avisado: Sam by text, answer: 400") != std::string::npos);
}
