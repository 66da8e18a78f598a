#include "notices/compose.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <boost/json/parse.hpp>
#include <boost/json/value.hpp>
#include <random>
#include <sstream>

#include "notices/examples.h"
#include "notices/lines.h"
#include "notices/phrases.h"
#include "text/gsm7.h"
#include "text/rfc3339.h"
#include "text/utf8.h"

using namespace ebbwatch;

namespace {

const WallTime noon = sample::two_o_clock;

Story plain_story(DecisionKind kind = DecisionKind::loss) {
  sample::use_utc();
  DecisionContext context = sample::context(noon + Span::of_min(12));
  context.since = noon;
  return sample::story_of(sample::decision(kind, sample::tank(0), 17), context);
}

Telling at_once(const Story& story) {
  return {Occasion::first, story.at};
}

const char* nasty_names[] = {
    "A",
    "Süßwasser-Großbecken im hinteren Flur, Regal 12, Platz 4711",
    "Коралловый риф у окна номер 7",
    "水族館の大きな水槽 3",
    "{Reef} [no. 2] ~ \\ | €€€€€€€€€€€€€€€€€€€€€€€€€€€€€€€€€€",
    "Reef \xF0\x9F\x90\x9F\xF0\x9F\x90\xA0 with 24.5 C and 14:02 in its name 20260222",
    "line\nbreak\r\nBcc: x@example.net\ttab",
    "01234567890123456789012345678901234567890123456789012345678901234567890123456789",
    "\xFF\xFE not UTF-8"};

// "14:00", or after 20 h "22 Feb 14:00".
std::string since_words(const Story& story, const Telling& telling) {
  return " since " + time_of_day(story.since, telling.now);
}

void check_limits(const Texts& texts) {
  CHECK(columns(texts.subject) <= 78);
  CHECK(is_utf8(texts.subject));
  CHECK(one_line(texts.subject) == texts.subject);
  CHECK(is_utf8(texts.text));
  std::istringstream lines(texts.text);
  for (std::string line; std::getline(lines, line);) CHECK(columns(line) <= 78);
  CHECK(texts.text.find('\r') == std::string::npos);
  CHECK(is_gsm7(texts.short_text));
  CHECK(gsm7_septets(texts.short_text) <= 160);
  CHECK(texts.short_text.find('\n') == std::string::npos);
  boost::system::error_code failed;
  const auto data = boost::json::parse(texts.data_json, failed);
  CHECK_FALSE(failed);
  CHECK(std::string(data.at("text").as_string().c_str()) == texts.text);
}

}  // namespace

TEST_CASE("compose: whatever the names are, limits hold and the news is whole in the first 60") {
  for (const char* tank_name : nasty_names) {
    for (const char* site_name : nasty_names) {
      for (Span waited : {Span{}, Span::of_min(75), Span::of_days(3)}) {
        for (bool drill : {false, true}) {
          Story story = plain_story();
          story.name = one_line(tank_name);
          story.place = one_line(site_name);
          story.instructions = site_name;
          story.drill = drill;
          story.cause = Cause::mains_power;
          story.confidence = 0.85;
          const Telling telling{Occasion::first, story.at + waited};
          const Texts texts = compose(story, telling);
          CAPTURE(texts.subject);
          CAPTURE(texts.short_text);
          check_limits(texts);
          const std::string news_words = ": no contact" + since_words(story, telling);
          const std::size_t in_subject = texts.subject.find(news_words);
          REQUIRE(in_subject != std::string::npos);
          CHECK(columns(texts.subject.substr(0, in_subject + news_words.size())) <= 60);
          const std::size_t in_short = texts.short_text.find(news_words);
          REQUIRE(in_short != std::string::npos);
          CHECK(gsm7_septets(texts.short_text.substr(0, in_short + news_words.size())) <= 60);
        }
      }
    }
  }
}

TEST_CASE("compose: every kind on every occasion keeps the limits") {
  std::mt19937_64 chance(7);
  for (DecisionKind kind :
       {DecisionKind::loss, DecisionKind::recovery, DecisionKind::cause_revised,
        DecisionKind::watch_gap, DecisionKind::unsteady, DecisionKind::steady}) {
    for (Occasion occasion :
         {Occasion::first, Occasion::later_step, Occasion::reminder, Occasion::combined}) {
      for (Cause cause : {Cause::undetermined, Cause::mains_power, Cause::internet,
                          Cause::controller, Cause::watcher_uplink}) {
        for (Scope scope : {Scope::controller, Scope::tank, Scope::site, Scope::area,
                            Scope::provider, Scope::watcher}) {
          Story story = plain_story(kind);
          story.cause = cause;
          story.scope = scope;
          story.confidence = static_cast<double>(chance() % 101) / 100;
          story.name = nasty_names[chance() % std::size(nasty_names)];
          story.covered = {"Elm Street", nasty_names[chance() % std::size(nasty_names)]};
          story.evidence = {std::string(200, 'x'), "A short one."};
          if (chance() % 2 == 0) story.gone_for = Span::of_s(static_cast<int>(chance() % 99999));
          if (chance() % 2 == 0) story.lost_at = noon;
          story.name = one_line(story.name);
          story.covered[1] = one_line(story.covered[1]);
          for (const Language language : all_languages) {
            check_limits(compose(story, {occasion, story.at, "", "", language}));
          }
        }
      }
    }
  }
}

TEST_CASE("compose: a short text never ends within a number of the instructions") {
  Story story = plain_story();
  for (std::size_t padding = 0; padding < 120; ++padding) {
    story.instructions = std::string(padding, 'x') + " ring +1 555 0142, breaker 1204, 14:02:33.";
    const std::string text = short_text(story, at_once(story));
    CAPTURE(text);
    const std::size_t ring = text.find("+1");
    if (ring != std::string::npos) CHECK(text.substr(ring).starts_with("+1 555 0142"));
    const std::size_t breaker = text.find("breaker 1");
    if (breaker != std::string::npos) CHECK(text.substr(breaker).starts_with("breaker 1204"));
    CHECK(text.find("14:02.") == std::string::npos);
  }
}

TEST_CASE("compose: the subject of a recovery starts like that of its loss") {
  const Story loss = plain_story();
  Story back = plain_story(DecisionKind::recovery);
  back.gone_for = Span::of_min(31);
  const std::string start = "Lagoon reef, Elm Street: ";
  CHECK(subject_line(loss, at_once(loss)) == start + "no contact since 14:00");
  CHECK(subject_line(back, at_once(back)) == start + "contact is back after 31 min");
}

TEST_CASE("compose: every notice of a loss has the caution, what is not known and what to check") {
  Story story = plain_story();
  for (Scope scope : {Scope::controller, Scope::tank, Scope::site, Scope::area}) {
    story.scope = scope;
    for (bool own : {true, false}) {
      if (!own) story.instructions.clear();
      const std::string text = whole_text(story, at_once(story));
      CHECK(text.find("Take care: Dry hands") != std::string::npos);
      CHECK(text.find("Not known:") != std::string::npos);
      CHECK(text.find("Check first:") != std::string::npos);
      CHECK(text.find("not a life-safety system") != std::string::npos);
      CHECK((text.find("Breaker 4 in the cellar") != std::string::npos) == own);
    }
    story.instructions = plain_story().instructions;
  }
}

TEST_CASE("compose: an exercise sends nobody to a tank") {
  Story story = plain_story();
  story.drill = true;
  CHECK(whole_text(story, at_once(story)).find("Take care") == std::string::npos);
  CHECK(short_text(story, at_once(story)).find("No need to go.") != std::string::npos);
  CHECK(event_type(story) == "ebbwatch.drill");
}

TEST_CASE(
    "compose: a loss that waited ten minutes says when it was noticed, one of nine does not") {
  const Story story = plain_story();
  const std::string late = "This was noticed at 14:12; it could be sent only now, at 14:22.";
  CHECK(whole_text(story, {Occasion::first, story.at + Span::of_min(10)}).find(late) !=
        std::string::npos);
  CHECK(whole_text(story, {Occasion::first, story.at + Span::of_min(9)}).find("only now") ==
        std::string::npos);
}

TEST_CASE("compose: data is the decision with its numbers untouched, plus name and text") {
  Story story = plain_story();
  story.name = "Lagoon \"reef\"";
  const Texts texts = compose(story, at_once(story));
  CHECK(texts.data_json.starts_with(story.decision_json.substr(0, story.decision_json.size() - 1)));
  const auto data = boost::json::parse(texts.data_json);
  CHECK(data.at("decision").as_string() == "loss");
  CHECK(data.at("at").as_string() == "2026-02-22T14:12:00.000Z");
  CHECK(data.at("name").as_string() == "Lagoon \"reef\"");
  CHECK(data.at("outage").as_string() == "harbour-17");
  CHECK(data.at("subject").as_string() == "lagoon");
}

TEST_CASE("compose: the owner's line ends stay, control characters do not reach the text") {
  Story story = plain_story();
  story.instructions = "one\x07 bell\n\ntwo\x1B[31m red";
  const std::string text = whole_text(story, at_once(story));
  CHECK(text.find("  one bell\n\n  two [31m red\n") != std::string::npos);
  CHECK(text.find('\x1B') == std::string::npos);
}

TEST_CASE("sureness: words follow the number; only more than half is probable") {
  CHECK(sureness(1.0) == Phrase::almost_certainly);
  CHECK(sureness(0.95) == Phrase::almost_certainly);
  CHECK(sureness(0.94) == Phrase::very_probably);
  CHECK(sureness(0.8) == Phrase::very_probably);
  CHECK(sureness(0.79) == Phrase::probably);
  CHECK(sureness(0.51) == Phrase::probably);
  CHECK(sureness(0.5) == Phrase::possibly);
  CHECK(sureness(0.0) == Phrase::possibly);
}

TEST_CASE(
    "story: names, place, instructions and the newest reading come from settings and context") {
  sample::use_utc();
  DecisionContext context = sample::context(noon);
  context.last_heard = {{"lagoon-logger", noon - Span::of_min(20), R"({"ph":8})"},
                        {"lagoon-main", noon - Span::of_min(10), R"({"ph":8.1})"},
                        {"lagoon-main", noon - Span::of_min(5), ""},
                        {"lagoon-logger", noon - Span::of_min(15), R"({"ph":7.9})"}};
  const Story tank =
      sample::story_of(sample::decision(DecisionKind::loss, sample::tank(0), 17), context);
  CHECK(tank.name == "Lagoon reef");
  CHECK(tank.place == "Elm Street");
  CHECK(tank.last_reading == "pH 8.1");
  CHECK(tank.last_reading_from == "lagoon-main");
  CHECK(tank.last_reading_at->us == (noon - Span::of_min(10)).us);
  CHECK(tank.instructions.starts_with("Breaker 4"));
  const Story part =
      sample::story_of(sample::decision(DecisionKind::loss, {Scope::controller, 1}, 17), context);
  CHECK(part.place == "Lagoon reef, Elm Street");
  const Story area =
      sample::story_of(sample::decision(DecisionKind::loss, {Scope::area, 0}, 17), context);
  CHECK(area.covered == std::vector<std::string>{"Elm Street", "Oak Street"});
  const Story site =
      sample::story_of(sample::decision(DecisionKind::loss, {Scope::site, 0}, 17), context);
  CHECK(site.place == "");
  CHECK(site.name == "Elm Street");
}

TEST_CASE("compose: a loss says how long the tank has as an estimate, a recovery does not") {
  Story story = plain_story();
  story.time_left = "oxygen below 4 mg/L in 1.5 to 6 hours; below 24 °C in 3 to 17 hours";
  const std::string text = compose(story, at_once(story)).text;
  CHECK(text.find("If the power is out since 14:00 (an estimate, counted from then):\n"
                  "  oxygen below 4 mg/L in 1.5 to 6 hours; below 24 °C in 3 to 17 hours\n") !=
        std::string::npos);
  check_limits(compose(story, at_once(story)));
  Story back = plain_story(DecisionKind::recovery);
  back.time_left = story.time_left;
  CHECK(compose(back, at_once(back)).text.find("oxygen below") == std::string::npos);
}
