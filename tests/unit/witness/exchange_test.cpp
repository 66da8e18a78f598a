// The talk between watchers: questions, answers, limits, relay, signs of life, and who was right.
#include "witness/exchange.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

namespace {

constexpr ControllerIndex lagoon{0}, reef{1}, beat{2};

Instant s(double seconds) {
  return Instant::of_seconds(seconds);
}

struct Talk {
  explicit Talk(int partners = 2, bool relay = false) {
    std::vector<WitnessPartner> known;
    const char* const names[] = {"breakwater", "pier", "quay"};
    for (int i = 0; i < partners; ++i) {
      known.push_back({names[i], true, relay, i == 0 ? beat : ControllerIndex{}});
    }
    exchange.emplace("harbour", known,
                     std::vector<std::string>{"lagoon", "reef", "watcher-breakwater"},
                     ExchangeRules{});
    exchange->take_requests(s(0));  // The first signs of life.
    for (std::uint32_t i = 0; i < exchange->size(); ++i) {
      exchange->answered({i}, message(names[i]), s(0), events);
    }
    events.clear();
  }

  static WitnessMessage message(const std::string& from) {
    WitnessMessage out;
    out.from = from;
    out.to = "harbour";
    return out;
  }
  template <class What>
  int count() const {
    int found = 0;
    for (const Event& event : events) found += std::holds_alternative<What>(event.what) ? 1 : 0;
    return found;
  }

  std::optional<Exchange> exchange;
  std::vector<Event> events;
};

}  // namespace

TEST_CASE("exchange: one request for many questions, and one at a time to each partner") {
  Talk talk;
  talk.exchange->ask({lagoon, reef}, s(10), talk.events);
  auto requests = talk.exchange->take_requests(s(10));
  REQUIRE(requests.size() == 2);
  CHECK(requests[0].message.ask == std::vector<std::string>{"lagoon", "reef"});
  CHECK(talk.exchange->take_requests(s(10)).empty());
  talk.exchange->ask({lagoon}, s(11), talk.events);
  CHECK(talk.exchange->take_requests(s(11)).empty());
  talk.exchange->answered({0}, Talk::message("breakwater"), s(12), talk.events);
  requests = talk.exchange->take_requests(s(12));
  REQUIRE(requests.size() == 1);
  CHECK(requests[0].message.ask == std::vector<std::string>{"lagoon"});
}

TEST_CASE("exchange: a question is over when all have answered or failed") {
  Talk talk;
  talk.exchange->ask({lagoon}, s(10), talk.events);
  talk.exchange->take_requests(s(10));
  WitnessMessage answer = Talk::message("breakwater");
  answer.words = {{"lagoon", Span::of_s(5)}};
  talk.exchange->answered({0}, answer, s(11), talk.events);
  CHECK(talk.count<WitnessWord>() == 1);
  CHECK(talk.count<WitnessesHeardOut>() == 0);
  talk.exchange->failed({1}, s(12), talk.events);
  CHECK(talk.count<WitnessesHeardOut>() == 1);
  CHECK(talk.exchange->record().of({0}).answered == 1);
  CHECK(talk.exchange->record().of({1}).failed == 1);
  CHECK(talk.exchange->hearers(lagoon) == std::vector<std::string>{"breakwater"});
}

TEST_CASE("exchange: the limit ends a question, and a late answer to it is no word any more") {
  Talk talk;
  talk.exchange->ask({lagoon}, s(10), talk.events);
  talk.exchange->take_requests(s(10));
  talk.exchange->tick(s(19.9), talk.events);
  CHECK(talk.count<WitnessesHeardOut>() == 0);
  CHECK(talk.exchange->next_deadline() == s(20));
  talk.exchange->tick(s(20), talk.events);
  CHECK(talk.count<WitnessesHeardOut>() == 1);
  WitnessMessage answer = Talk::message("breakwater");
  answer.words = {{"lagoon", Span::of_s(5)}};
  talk.exchange->answered({0}, answer, s(21), talk.events);
  CHECK(talk.count<WitnessWord>() == 0);
  CHECK(talk.count<WitnessesHeardOut>() == 1);
}

TEST_CASE("exchange: one whose own link is down gives no word") {
  Talk talk(1);
  talk.exchange->ask({lagoon}, s(10), talk.events);
  talk.exchange->take_requests(s(10));
  WitnessMessage answer = Talk::message("breakwater");
  answer.words = {{"lagoon", Span::of_s(5)}};
  answer.link_works = false;
  talk.exchange->answered({0}, answer, s(11), talk.events);
  CHECK(talk.count<WitnessWord>() == 0);
  CHECK(talk.count<WitnessesHeardOut>() == 1);
}

TEST_CASE("exchange: an answer about something else, or twice, changes nothing") {
  Talk talk;
  talk.exchange->ask({lagoon}, s(10), talk.events);
  talk.exchange->take_requests(s(10));
  WitnessMessage answer = Talk::message("breakwater");
  answer.words = {{"reef", Span::of_s(5)}, {"nowhere", Span::of_s(1)}};
  talk.exchange->answered({0}, answer, s(11), talk.events);
  talk.exchange->answered({0}, answer, s(11), talk.events);
  CHECK(talk.count<WitnessWord>() == 0);
}

TEST_CASE("exchange: it testifies to what it heard itself, and not to what it may have missed") {
  Talk talk;
  const auto age = [&](double now) {
    WitnessMessage question = Talk::message("pier");
    question.ask = {"lagoon", "unknown"};
    const WitnessMessage answer = talk.exchange->serve({1}, question, s(now), talk.events);
    REQUIRE(answer.words.size() == 2);
    CHECK(answer.words[1].age == std::nullopt);
    return answer.words[0].age;
  };
  CHECK(age(5) == std::nullopt);
  talk.exchange->heard(lagoon, s(10));
  CHECK(age(25) == Span::of_s(15));
  talk.exchange->was_deaf_until(s(30));
  CHECK(age(31) == std::nullopt);
  talk.exchange->heard(lagoon, s(32));
  CHECK(age(33) == Span::of_s(1));
}

TEST_CASE("exchange: what it heard is passed on, marked, once, and never a second time") {
  Talk from(1, true), to(1, true);
  from.exchange->heard(lagoon, s(10));
  CHECK(from.exchange->take_requests(s(10)).empty());
  const auto requests = from.exchange->take_requests(s(10.5));
  REQUIRE(requests.size() == 1);
  REQUIRE(requests[0].message.relayed.size() == 1);
  to.exchange->serve({0}, requests[0].message, s(10.6), to.events);
  to.exchange->serve({0}, requests[0].message, s(10.7), to.events);
  int relayed = 0;
  for (const Event& event : to.events) {
    const auto* check_in = std::get_if<CheckIn>(&event.what);
    relayed += check_in != nullptr && check_in->relayed ? 1 : 0;
  }
  CHECK(relayed == 1);
  CHECK(to.exchange->heard_through(lagoon) == "breakwater");
  CHECK(to.exchange->heard_through(reef).empty());
  for (const auto& next : to.exchange->take_requests(s(60))) CHECK(next.message.relayed.empty());
  WitnessMessage question = Talk::message("breakwater");
  question.ask = {"lagoon"};
  CHECK(to.exchange->serve({0}, question, s(11), to.events).words[0].age == std::nullopt);
  to.exchange->heard(lagoon, s(20));
  CHECK(to.exchange->heard_through(lagoon).empty());
}

TEST_CASE("exchange: a partner's messages are its signs of life, at its own pace") {
  Talk talk(1);
  for (double t = 30; t < 300; t += 5) {
    talk.exchange->serve({0}, Talk::message("breakwater"), s(t), talk.events);
  }
  CHECK(talk.count<CheckIn>() == 18);  // One in 15 s, half of the 30 s between two of its own.
  CHECK(talk.exchange->last_heard({0}) == s(295));
}

TEST_CASE("exchange: nobody asks a watcher about itself") {
  Talk talk(2);
  talk.exchange->ask({beat}, s(10), talk.events);
  const auto requests = talk.exchange->take_requests(s(10));
  REQUIRE(requests.size() == 1);
  CHECK(requests[0].message.to == "pier");
}

TEST_CASE("record: who stands alone against most, and who was proven wrong, is often wrong") {
  TrackRecord record(3);
  for (int i = 0; i < 6; ++i) record.question_over(lagoon, 0b111, 0b001, 0, s(i));
  CHECK(record.of({0}).disagreed == 6);
  CHECK(record.of({0}).often_wrong());
  CHECK(record.of({0}).newest.size() == 6);
  CHECK(record.of({1}).agreed == 6);
  CHECK_FALSE(record.of({1}).often_wrong());
  record.returned(lagoon, true);
  CHECK(record.of({0}).wrong == 1);
  CHECK(record.of({1}).wrong == 0);
  record.returned(lagoon, true);
  CHECK(record.of({0}).wrong == 1);
}

TEST_CASE("record: one against one tells nothing of either") {
  TrackRecord record(1);
  record.question_over(lagoon, 0b1, 0b1, 0, s(1));
  CHECK(record.of({0}).disagreed == 0);
  CHECK(record.of({0}).agreed == 0);
  record.returned(lagoon, false);
  CHECK(record.of({0}).wrong == 0);
}
