// What wakes nobody, and what is told at once although much of it comes at the same time.
#include <doctest/doctest.h>

#include <algorithm>

#include "notices/desk_bench.h"

using namespace ebbwatch;
using sample::DeskBench;

namespace {

const Subject watcher{Scope::watcher, 0};

void decide_gap(DeskBench& bench, Span gone_for) {
  DeskContext context = sample::context(bench.now);
  context.gone_for = gone_for;
  bench.store(bench.desk->on_decision(sample::decision(DecisionKind::watch_gap, watcher, 0),
                                      context, bench.entropy));
}

/// A club with so many tanks at Elm Street, told to Robin by text.
Settings many_tanks(std::size_t count) {
  Settings all = sample::settings();
  TankSettings one = all.sites[0].tanks[1];
  all.sites[0].tanks.clear();
  for (std::size_t i = 1; i <= count; ++i) {
    one.id = "tank-" + std::to_string(i);
    one.name = "Tank " + std::to_string(i);
    one.controllers[0].id = one.controllers[0].name = one.id + "-main";
    all.sites[0].tanks.push_back(one);
  }
  all.call_lists[0].steps = {{Span{}, {"robin"}, {"text"}}};
  all.call_lists[0].repeat_every.reset();
  return all;
}

/// All that is due, each delivered: as many at once as a notifier may have.
std::string send_and_deliver(DeskBench& bench) {
  std::string all;
  for (std::string sent = bench.send(); !sent.empty(); sent = bench.send()) {
    all += (all.empty() ? "" : "; ") + sent;
    while (!bench.flying.empty()) bench.delivered(DeskBench::label(bench.flying.front()));
  }
  return all;
}

}  // namespace

TEST_CASE("digest: a watch gap waits for the next morning, and goes by mail where there is one") {
  DeskBench bench;  // 14:00
  decide_gap(bench, Span::of_min(5));
  CHECK(bench.desk->waiting() == 0);  // Not longer than the shortest on-delay.
  decide_gap(bench, Span::of_min(5) + Span::of_us(1));
  CHECK(bench.send() == "");
  bench.pass(Span::of_h(18) - Span::of_s(1));
  CHECK(bench.send() == "");
  bench.pass(Span::of_s(1));  // 08:00
  CHECK(bench.send() == "mail>robin digest");
  const Message& digest = bench.flying[0].message;
  CHECK(digest.carries.size() == 1);
  CHECK(digest.subject == "Watcher harbour: daily digest, 1 matter without hurry");
  CHECK(digest.text.find("Watcher harbour: was not watching for 5 min") != std::string::npos);
  bench.delivered("mail>robin digest");
  CHECK(bench.stored() == "mail>robin watch_gap delivered 1; mail>robin digest delivered 1");
  bench.pass(Span::of_days(2));
  CHECK(bench.send() == "");
  CHECK(bench.desk->notices() == 0);
}

TEST_CASE("digest: the call list says when") {
  Settings settings = sample::settings();
  settings.call_lists[0].digest_at = 19 * 60 + 30;
  DeskBench bench(settings);
  bench.decide(DecisionKind::unsteady);
  bench.pass(Span::of_h(5) + Span::of_min(29));
  CHECK(bench.send() == "");
  bench.pass(Span::of_min(1));
  CHECK(bench.send() == "mail>robin digest");
}

TEST_CASE("digest: an unsteady link is named every day until it is steady again") {
  DeskBench bench;
  bench.decide(DecisionKind::unsteady);
  bench.pass(Span::of_h(18));
  CHECK(send_and_deliver(bench) == "mail>robin digest");
  bench.pass(Span::of_h(24));
  CHECK(bench.send() == "mail>robin digest");
  CHECK(bench.flying[0].message.text.find("comes and goes since") != std::string::npos);
  bench.delivered("mail>robin digest");
  bench.decide(DecisionKind::steady);
  bench.pass(Span::of_h(24));
  CHECK(bench.send() == "mail>robin digest");
  CHECK(bench.flying[0].message.text.find("steady again") != std::string::npos);
  bench.delivered("mail>robin digest");
  bench.pass(Span::of_days(3));
  CHECK(bench.send() == "");
  CHECK(bench.desk->outages() == 0);
}

TEST_CASE("digest: unsteady and steady on the same day are two lines of one digest") {
  DeskBench bench;
  bench.decide(DecisionKind::unsteady);
  bench.pass(Span::of_h(3));
  bench.decide(DecisionKind::steady);
  bench.pass(Span::of_h(15));
  CHECK(bench.send() == "mail>robin digest");
  CHECK(bench.flying[0].message.carries.size() == 2);
}

TEST_CASE("digest: outlives a restart without being taken for sent") {
  DeskBench bench;
  bench.decide(DecisionKind::unsteady);
  bench.pass(Span::of_h(2));
  bench.restart();
  bench.decide(DecisionKind::steady);
  bench.pass(Span::of_h(16) - Span::of_s(1));
  CHECK(bench.send() == "");
  bench.pass(Span::of_s(1));
  CHECK(bench.send() == "mail>robin digest");
  CHECK(bench.flying[0].message.carries.size() == 2);
}

TEST_CASE("digest: when the mail server refuses it, the other way takes over soon") {
  DeskBench bench;
  bench.decide(DecisionKind::unsteady);
  bench.pass(Span::of_h(18));
  (void)bench.send();
  bench.refuses("mail>robin digest");
  CHECK(bench.send() == "");
  bench.pass(gathered_for);
  CHECK(bench.send() == "text>robin digest");
  CHECK(bench.remarks.size() == 2);  // The digest and what was in it.
}

TEST_CASE("digest: a notifier that fails for long is told by another way, and its return too") {
  DeskBench bench;
  bench.desk->on_notifier("mail", true, "550 no such user", bench.now);
  bench.pass(Span::of_min(9));
  CHECK(bench.desk->waiting() == 0);
  bench.pass(Span::of_min(1));
  bench.pass(Span::of_h(18));
  CHECK(bench.send() == "text>robin digest");
  CHECK(bench.flying[0].message.text.find("Notifier mail: does not deliver since 14:00: 550") !=
        std::string::npos);
  bench.delivered("text>robin digest");
  bench.desk->on_notifier("mail", false, "", bench.now);
  bench.pass(Span::of_h(24));
  CHECK(bench.send() == "text>robin digest");
  CHECK(bench.flying[0].message.text.find("Notifier mail: delivers again") != std::string::npos);
}

TEST_CASE("digest: a notifier that fails for a moment is told to nobody") {
  DeskBench bench;
  bench.desk->on_notifier("mail", true, "421 later", bench.now);
  bench.pass(Span::of_min(9));
  bench.desk->on_notifier("mail", false, "", bench.now);
  bench.pass(Span::of_days(2));
  CHECK(bench.rows.notices().empty());
}

TEST_CASE("digest: a way that was not proven for long is told to its list") {
  DeskBench bench;
  bench.store(bench.desk->on_unproven("sam", "text", bench.now - Span::of_days(40), {"everyday"},
                                      bench.now, bench.entropy));
  bench.pass(Span::of_h(18));
  CHECK(bench.send() == "mail>robin digest");
  CHECK(bench.flying[0].message.text.find(
            "The way to Sam by text: not proven for long, last on 2026-01-13") !=
        std::string::npos);
}

TEST_CASE("summary: more than five losses to one person are told in one") {
  DeskBench bench(many_tanks(30));
  for (std::uint32_t tank = 0; tank < 30; ++tank) {
    bench.decide(DecisionKind::loss, sample::tank(tank), tank + 1);
  }
  CHECK(send_and_deliver(bench) ==
        "text>robin loss; text>robin loss; text>robin loss; text>robin loss; text>robin loss");
  bench.pass(gathered_for);
  CHECK(bench.send() == "text>robin summary");
  const Message& summary = bench.flying[0].message;
  CHECK(summary.carries.size() == 25);
  CHECK(summary.subject == "Watcher harbour: 25 out of contact");
  CHECK(summary.short_text ==
        "harbour: 25 out of contact. Newest: Tank 30, Elm Street: no contact since 13:48. Reply "
        "OK ALL to take all on. More on the board.");
  CHECK(summary.text.find("- Tank 6, Elm Street: no contact since 13:48") != std::string::npos);
  bench.delivered("text>robin summary");
  for (const NoticeRow& row : bench.rows.notices()) CHECK(row.state == "delivered");
  CHECK(bench.desk->was_told(30, "robin"));
}

TEST_CASE("summary: recoveries of what it told come in the next one") {
  DeskBench bench(many_tanks(9));
  for (std::uint32_t tank = 0; tank < 9; ++tank) {
    bench.decide(DecisionKind::loss, sample::tank(tank), tank + 1);
  }
  (void)send_and_deliver(bench);
  bench.pass(gathered_for);
  CHECK(send_and_deliver(bench) == "text>robin summary");
  for (std::uint32_t tank = 0; tank < 9; ++tank) {
    bench.decide(DecisionKind::recovery, sample::tank(tank), tank + 1);
  }
  CHECK(bench.send() == "");
  bench.pass(summary_every);
  CHECK(bench.send() == "text>robin summary");
  CHECK(bench.flying[0].message.subject == "Watcher harbour: 9 back");
  bench.delivered("text>robin summary");
  CHECK(bench.desk->outages() == 0);
}

TEST_CASE("summary: who is told of a loss only in a summary under way still hears of its end") {
  DeskBench bench(many_tanks(6));
  for (std::uint32_t tank = 0; tank < 6; ++tank) {
    bench.decide(DecisionKind::loss, sample::tank(tank), tank + 1);
  }
  (void)send_and_deliver(bench);
  bench.pass(gathered_for);
  CHECK(bench.send() == "text>robin summary");
  bench.decide(DecisionKind::recovery, sample::tank(5), 6);
  bench.loses_answer("text>robin summary");
  bench.pass(Span::of_h(1));
  CHECK(bench.send() != "");
  CHECK(bench.flying.back().message.text.find("Tank 6, Elm Street: was lost, contact is back") !=
        std::string::npos);
}

TEST_CASE("summary: what is taken on before it goes is left out, and an empty one does not go") {
  DeskBench bench(many_tanks(7));
  for (std::uint32_t tank = 0; tank < 7; ++tank) {
    bench.decide(DecisionKind::loss, sample::tank(tank), tank + 1);
  }
  (void)send_and_deliver(bench);
  bench.acknowledge(6);
  bench.pass(gathered_for);
  CHECK(bench.send() == "text>robin summary");
  CHECK(bench.flying[0].message.carries.size() == 1);

  DeskBench other(many_tanks(6));
  for (std::uint32_t tank = 0; tank < 6; ++tank) {
    other.decide(DecisionKind::loss, sample::tank(tank), tank + 1);
  }
  (void)send_and_deliver(other);
  other.acknowledge(6);
  other.pass(summary_every);
  CHECK(other.send() == "");
}

TEST_CASE("summary: a way that fails passes on to the next one, also in a summary") {
  Settings settings = many_tanks(8);
  settings.call_lists[0].steps = {{Span{}, {"robin"}, {"text", "mail"}}};
  for (KeyholderSettings& person : settings.keyholders) person.summary_above = 1;
  DeskBench bench(settings);
  for (std::uint32_t tank = 0; tank < 8; ++tank) {
    bench.decide(DecisionKind::loss, sample::tank(tank), tank + 1);
  }
  (void)send_and_deliver(bench);
  bench.pass(gathered_for);
  CHECK(bench.send() == "text>robin summary");
  bench.refuses("text>robin summary");
  CHECK(bench.send() == "mail>robin loss");
  bench.delivered("mail>robin loss");
  bench.pass(gathered_for);
  CHECK(bench.send() == "mail>robin summary");
  CHECK(bench.flying[0].message.carries.size() == 6);
  bench.delivered("mail>robin summary");
  for (std::uint32_t tank = 0; tank < 8; ++tank) CHECK(bench.desk->was_told(tank + 1, "robin"));
}

TEST_CASE("summary: it is sent again under the same identifier after a restart") {
  DeskBench bench(many_tanks(8));
  for (std::uint32_t tank = 0; tank < 8; ++tank) {
    bench.decide(DecisionKind::loss, sample::tank(tank), tank + 1);
  }
  (void)send_and_deliver(bench);
  bench.pass(gathered_for);
  (void)bench.send();
  const std::string first = bench.flying[0].message.notice;
  bench.restart();
  CHECK(bench.send() == "text>robin summary");
  CHECK(bench.flying[0].message.notice == first);
  CHECK(bench.flying[0].message.carries.size() == 3);
}

TEST_CASE("summary: programs get each notice for itself") {
  Settings settings = many_tanks(8);
  settings.call_lists[0].steps = {{Span{}, {"robin"}, {"hook"}}};
  DeskBench bench(settings);
  for (std::uint32_t tank = 0; tank < 8; ++tank) {
    bench.decide(DecisionKind::loss, sample::tank(tank), tank + 1);
  }
  const std::string sent = send_and_deliver(bench);
  CHECK(std::count(sent.begin(), sent.end(), ';') == 7);
  CHECK(sent.find("summary") == std::string::npos);
}

TEST_CASE("summary: nothing is summed up where the keyholder does not want it") {
  Settings settings = many_tanks(8);
  settings.keyholders[0].summary_above = 0;
  DeskBench bench(settings);
  for (std::uint32_t tank = 0; tank < 8; ++tank) {
    bench.decide(DecisionKind::loss, sample::tank(tank), tank + 1);
  }
  const std::string sent = send_and_deliver(bench);
  CHECK(std::count(sent.begin(), sent.end(), ';') == 7);
}
