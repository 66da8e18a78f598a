// Who hears that an outage was taken on, and what happens when that runs out.
#include <doctest/doctest.h>

#include "notices/desk_bench.h"

using namespace ebbwatch;
using sample::DeskBench;

namespace {

class FixedAnswers final : public Answers {
 public:
  std::string code(OutageId, const std::string& keyholder) override {
    return keyholder == "robin" ? "4271" : "";
  }
  std::string link(OutageId outage, const std::string& keyholder, const std::string&) override {
    return "https://tanks.example.net/a/" + std::to_string(outage) + keyholder;
  }
};

// Robin was told by text at 14:00, Sam at 14:15.
void tell_two(DeskBench& bench) {
  bench.decide(DecisionKind::loss);
  bench.send();
  bench.delivered("text>robin loss");
  bench.pass(Span::of_min(15));
  bench.send();
  bench.delivered("text>sam loss");
}

}  // namespace

TEST_CASE("acknowledge: the others who were told hear who has it, by the way that reached them") {
  DeskBench bench;
  tell_two(bench);
  bench.acknowledge(1, "robin");
  CHECK(bench.send() == "text>sam acknowledged");
  CHECK(bench.flying[0].message.short_text ==
        "Lagoon reef, Elm Street: no contact since 13:48. Robin has taken it on. You need not do "
        "anything.");
  CHECK(bench.flying[0].message.subject == "Lagoon reef, Elm Street: Robin has taken it on");
}

TEST_CASE("acknowledge: a stranger's name counts, and everybody told hears it") {
  DeskBench bench;
  tell_two(bench);
  bench.acknowledge(1, "the night porter");
  CHECK(bench.send() == "text>robin acknowledged; text>sam acknowledged");
}

TEST_CASE("acknowledge: a name in any case of letters is the person's own") {
  DeskBench bench;
  tell_two(bench);
  bench.acknowledge(1, "ROBIN");
  CHECK(bench.send() == "text>sam acknowledged");
}

TEST_CASE("acknowledge: an attempt under way decides whether that person hears who has it") {
  DeskBench bench;
  bench.decide(DecisionKind::loss);
  bench.send();
  bench.acknowledge(1, "sam");
  CHECK(bench.send().empty());
  SUBCASE("it arrives") {
    bench.delivered("text>robin loss");
    CHECK(bench.send() == "text>robin acknowledged");
  }
  SUBCASE("it does not") {
    bench.refuses("text>robin loss");
    CHECK(bench.send().empty());
    CHECK(bench.desk->waiting() == 0);
  }
}

TEST_CASE("acknowledge: it runs out while the loss lasts, and the list begins again") {
  DeskBench bench;
  tell_two(bench);
  bench.acknowledge(1, "robin");
  bench.send();
  bench.delivered("text>sam acknowledged");
  bench.pass(Span::of_h(2) - Span::of_s(1));
  CHECK(bench.send().empty());
  bench.pass(Span::of_s(1));
  CHECK(bench.send() == "text>robin loss");
  CHECK(bench.flying[0].message.text.find("Robin had taken it on at 14:15, but that has run out") !=
        std::string::npos);
  bench.delivered("text>robin loss");
  bench.pass(Span::of_min(15));
  CHECK(bench.send() == "text>sam loss");
}

TEST_CASE("acknowledge: a further one counts anew and tells nobody twice") {
  DeskBench bench;
  tell_two(bench);
  bench.acknowledge(1, "robin");
  bench.send();
  bench.delivered("text>sam acknowledged");
  bench.pass(Span::of_h(1));
  bench.acknowledge(1, "robin");
  CHECK(bench.send().empty());
  bench.pass(Span::of_h(2) - Span::of_s(1));
  CHECK(bench.send().empty());
  bench.pass(Span::of_s(1));
  CHECK(bench.send() == "text>robin loss");
}

TEST_CASE("acknowledge: when somebody else takes over, the first one hears it") {
  DeskBench bench;
  tell_two(bench);
  bench.acknowledge(1, "robin");
  bench.send();
  bench.delivered("text>sam acknowledged");
  bench.pass(Span::of_min(5));
  bench.acknowledge(1, "sam");
  CHECK(bench.send() == "text>robin acknowledged");
}

TEST_CASE("acknowledge: the list's own acknowledged_for holds, also over a restart") {
  Settings settings = sample::settings();
  settings.call_lists[0].acknowledged_for = Span::of_min(30);
  DeskBench bench(settings);
  tell_two(bench);
  bench.acknowledge(1, "robin");
  bench.send();
  bench.delivered("text>sam acknowledged");
  bench.pass(Span::of_min(20));
  bench.restart();
  CHECK(bench.send().empty());
  bench.pass(Span::of_min(10));
  CHECK(bench.send() == "text>robin loss");
}

TEST_CASE("acknowledge: contact that is back before the news of who has it calls that news off") {
  DeskBench bench;
  tell_two(bench);
  bench.acknowledge(1, "robin");
  bench.decide(DecisionKind::recovery);
  CHECK(bench.send() == "text>robin recovery; text>sam recovery");
}

TEST_CASE("answers: a notice of a running outage carries its code and link, also in its texts") {
  DeskBench bench;
  FixedAnswers answers;
  bench.desk = std::make_unique<NoticeDesk>(bench.settings, bench.plan, &answers);
  bench.decide(DecisionKind::loss);
  bench.send();
  const Message message = bench.flying.at(0).message;
  CHECK(message.answer_code == "4271");
  CHECK(message.answer_link == "https://tanks.example.net/a/1robin");
  CHECK(message.short_text.find("Reply OK 4271.") != std::string::npos);
  CHECK(message.text.find("To take it on:\n  https://tanks.example.net/a/1robin\n"
                          "  or reply to the text message with: OK 4271\n") != std::string::npos);
  bench.delivered("text>robin loss");
  bench.decide(DecisionKind::recovery);
  bench.send();
  CHECK(bench.flying.at(0).message.answer_code.empty());
}

TEST_CASE("undelivered: whoever was reached hears that another person was not") {
  Settings settings = sample::settings();
  settings.call_lists[0].steps[0].tell = {"robin", "sam"};
  DeskBench bench(settings);
  bench.decide(DecisionKind::loss);
  CHECK(bench.send() == "text>robin loss; text>sam loss");
  bench.delivered("text>robin loss");
  bench.refuses("text>sam loss");
  CHECK(bench.send() == "mail>sam loss");
  bench.refuses("mail>sam loss");
  CHECK(bench.send() == "text>robin undelivered");
  CHECK(bench.flying[0].message.text.find("Sam by mail, answer: answer") != std::string::npos);
}

TEST_CASE("undelivered: the next step comes early and hears of it too") {
  Settings settings = sample::settings();
  settings.call_lists[0].steps[0].by = {"text"};
  DeskBench bench(settings);
  bench.decide(DecisionKind::loss);
  bench.send();
  bench.refuses("text>robin loss");
  CHECK(bench.send() == "text>sam loss");
  bench.delivered("text>sam loss");
  CHECK(bench.send() == "text>sam undelivered");
}

TEST_CASE("put away: the calls stop, and begin again when the loss is told late") {
  DeskBench bench;
  tell_two(bench);
  bench.store(bench.desk->on_put_away(1, bench.now));
  bench.pass(Span::of_days(1));
  CHECK(bench.send().empty());
  bench.restart();
  bench.pass(Span::of_days(1));
  CHECK(bench.send().empty());
  Decision late = sample::decision(DecisionKind::loss, sample::tank(0), 1);
  late.told = Told::late;
  bench.store(bench.desk->on_decision(late, sample::context(bench.now), bench.entropy));
  CHECK(bench.send() == "text>robin loss");
  CHECK(bench.flying[0].message.text.find("It had been put away") != std::string::npos);
}

TEST_CASE("put away: what is held is told to nobody, but the recovery of what was told is") {
  DeskBench bench;
  Decision held = sample::decision(DecisionKind::loss, sample::tank(0), 1);
  held.told = Told::held;
  bench.store(bench.desk->on_decision(held, sample::context(bench.now), bench.entropy));
  CHECK(bench.send().empty());
  held.kind = DecisionKind::recovery;
  bench.store(bench.desk->on_decision(held, sample::context(bench.now), bench.entropy));
  CHECK(bench.send().empty());
  tell_two(bench);
  bench.store(bench.desk->on_decision(held, sample::context(bench.now), bench.entropy));
  CHECK(bench.send() == "text>robin recovery; text>sam recovery");
}
