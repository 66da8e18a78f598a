#include "schedule.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <sstream>

using namespace ebbwatch;
using namespace ebbwatch::fleet;

namespace {

FleetController plain(const std::string& id, std::int64_t interval_s,
                      const std::string& site = "s") {
  FleetController out;
  out.id = id;
  out.site = site;
  out.interval = Span::of_s(interval_s);
  return out;
}

std::vector<Step> steps(const Scenario& scenario) {
  Schedule schedule(scenario);
  std::vector<Step> out;
  while (const auto step = schedule.next()) out.push_back(*step);
  return out;
}

/// "0 a0 2 a1 …": time in seconds, controller and seq; - before a lost one, ~ on battery, and the
/// uptime where it is not seq times the interval.
std::string shown(const Scenario& scenario) {
  std::ostringstream out;
  for (const auto& step : steps(scenario)) {
    out << step.at.seconds() << ' ';
    if (step.kind == Step::Kind::begins || step.kind == Step::Kind::ends) {
      out << (step.kind == Step::Kind::begins ? "begins" : "ends") << ' ';
      continue;
    }
    out << (step.kind == Step::Kind::lost ? "-" : "") << (step.on_battery ? "~" : "")
        << scenario.controllers[step.controller].id << step.seq << ' ';
  }
  return out.str();
}

Scenario of(std::vector<FleetController> controllers, std::int64_t length_s,
            std::vector<Happening> happenings = {}) {
  Scenario out;
  out.length = Span::of_s(length_s);
  out.controllers = std::move(controllers);
  out.happenings = std::move(happenings);
  return out;
}

Happening happening(Happening::Kind kind, const std::string& subject, std::int64_t at_s,
                    std::int64_t for_s) {
  return {kind, subject, Span::of_s(at_s), Span::of_s(for_s)};
}

}  // namespace

TEST_CASE("fleet schedule: check-ins come at their intervals and count up") {
  CHECK(shown(of({plain("a", 2), plain("b", 3)}, 7)) == "0 a0 0 b0 2 a1 3 b1 4 a2 6 a3 6 b2 ");
}

TEST_CASE("fleet schedule: a controller that is switched on later begins later") {
  auto late = plain("a", 2);
  late.start_delay = Span::of_s(3);
  const auto all = steps(of({late}, 8));
  REQUIRE(all.size() == 3);
  CHECK(all[0].at == Span::of_s(3));
  CHECK(all[0].uptime == Span{});
  CHECK(all[2].uptime == Span::of_s(4));
}

TEST_CASE("fleet schedule: in a blip check-ins are sent and lost, and counting goes on") {
  CHECK(
      shown(of({plain("a", 2), plain("b", 2)}, 9, {happening(Happening::Kind::blip, "a", 2, 3)})) ==
      "0 a0 0 b0 2 begins 2 -a1 2 b1 4 -a2 4 b2 5 ends 6 a3 6 b3 8 a4 8 b4 ");
}

TEST_CASE("fleet schedule: a mains cut stops one site, whose logger goes on from its battery") {
  auto logger = plain("l", 3);
  logger.battery_backed = true;
  const auto scenario = of({plain("a", 2), logger, plain("b", 4, "elsewhere")}, 14,
                           {happening(Happening::Kind::mains_cut, "s", 3, 8)});
  CHECK(
      shown(scenario) ==
      "0 a0 0 l0 0 b0 2 a1 3 begins 3 ~l1 4 b1 6 ~l2 8 b2 9 ~l3 11 ends 11 a0 12 l4 12 b3 13 a1 ");
  const auto all = steps(scenario);
  CHECK(all.back().uptime == Span::of_s(2));
}

TEST_CASE("fleet schedule: a crash between two check-ins still restarts seq and uptime") {
  CHECK(shown(of({plain("a", 10)}, 30, {happening(Happening::Kind::crash, "a", 12, 1)})) ==
        "0 a0 10 a1 12 begins 13 ends 13 a0 23 a1 ");
}

TEST_CASE("fleet schedule: overlapping and touching stretches without power are one") {
  CHECK(shown(of({plain("a", 2)}, 16,
                 {happening(Happening::Kind::mains_cut, "s", 3, 5),
                  happening(Happening::Kind::crash, "a", 6, 4),
                  happening(Happening::Kind::crash, "a", 10, 2)})) ==
        "0 a0 2 a1 3 begins 6 begins 8 ends 10 ends 10 begins 12 ends 12 a0 14 a1 ");
}

TEST_CASE(
    "fleet schedule: what is never switched on before a cut ends starts after its own delay") {
  auto late = plain("a", 5);
  late.start_delay = Span::of_s(9);
  CHECK(shown(of({late}, 16, {happening(Happening::Kind::crash, "a", 1, 2)})) ==
        "1 begins 3 ends 9 a0 14 a1 ");
  late.start_delay = Span::of_s(2);
  CHECK(shown(of({late}, 10, {happening(Happening::Kind::crash, "a", 1, 3)})) ==
        "1 begins 4 ends 4 a0 9 a1 ");
}

TEST_CASE(
    "fleet schedule: jitter delays within its bound and never adds up; time never steps back") {
  Scenario scenario = of({plain("a", 10), plain("b", 7)}, 100'000);
  for (auto& controller : scenario.controllers) controller.jitter = Span::of_s(3);
  Span last;
  Span latest;
  for (const auto& step : steps(scenario)) {
    REQUIRE(step.at >= last);
    last = step.at;
    const Span nominal =
        scenario.controllers[step.controller].interval * static_cast<std::int64_t>(step.seq);
    REQUIRE(step.at >= nominal);
    REQUIRE(step.at < nominal + Span::of_s(3));
    latest = std::max(latest, step.at - nominal);
  }
  CHECK(latest > Span::of_seconds(2.9));
}

TEST_CASE("fleet schedule: the share of lost check-ins is near the wished one") {
  Scenario scenario = of({plain("a", 1)}, 100'000);
  scenario.controllers[0].loss = 0.1;
  const auto all = steps(scenario);
  const auto lost = std::count_if(all.begin(), all.end(),
                                  [](const Step& s) { return s.kind == Step::Kind::lost; });
  // 100,000 draws at 0.1: standard deviation 95, so that this holds but for one seed in millions.
  CHECK(lost > 9'500);
  CHECK(lost < 10'500);
}

TEST_CASE(
    "fleet schedule: one seed gives one run, another seed another, and a neighbour changes "
    "nothing") {
  Scenario scenario = of({plain("a", 2)}, 500);
  scenario.controllers[0].loss = 0.3;
  scenario.controllers[0].jitter = Span::of_s(1);
  const auto first = shown(scenario);
  CHECK(shown(scenario) == first);
  scenario.seed = 2;
  CHECK(shown(scenario) != first);
  scenario.seed = 1;
  scenario.controllers.insert(scenario.controllers.begin(), plain("b", 1'000));
  CHECK(shown(scenario) == "0 b0 " + first);
}

TEST_CASE(
    "fleet schedule: the demonstration misses less than its on-delay in the blip, more in the "
    "cut") {
  const auto read = read_scenario_file(EBBWATCH_SOURCE_DIR "/config/fleet-demo.yaml");
  REQUIRE(read.ok());
  const auto longest_gap = [&](const std::string& id) {
    Span last;
    Span longest;
    for (const auto& step : steps(read.value())) {
      if (step.kind != Step::Kind::check_in) continue;
      if (read.value().controllers[step.controller].id != id) continue;
      longest = std::max(longest, step.at - last);
      last = step.at;
    }
    return longest;
  };
  CHECK(longest_gap("kelp-main") > Span::of_s(6));
  CHECK(longest_gap("kelp-main") < Span::of_s(10));
  CHECK(longest_gap("brook-main") > Span::of_s(40));
  CHECK(longest_gap("lagoon-main") < Span::of_s(3));
}

TEST_CASE("fleet: happenings in words") {
  CHECK(words(happening(Happening::Kind::mains_cut, "mill-cottage", 1, 40)) ==
        "a mains cut at mill-cottage for 40s");
}
