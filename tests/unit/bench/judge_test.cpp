// Counting suspicions gives the same figures as the summary of a replay, for any truth.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>
#include <random>

#include "study/suspicion_judge.h"
#include "trace/summary.h"

using namespace ebbwatch;
using namespace ebbwatch::bench;

namespace {

// Two sites: one with a tank of two controllers, one with a single controller.
WatchPlan two_sites() {
  WatchPlan plan;
  plan.watcher = "harbour";
  const auto controller = [](const char* id, std::uint32_t tank, int interval_s) {
    ControllerPlan one;
    one.id = id;
    one.tank = {tank};
    one.interval = Span::of_s(interval_s);
    return one;
  };
  plan.controllers = {controller("reef-main", 0, 60), controller("reef-logger", 0, 120),
                      controller("nano-main", 1, 60)};
  plan.tanks = {{"reef", {0}, {{0}, {1}}, {}}, {"nano", {1}, {{2}}, {}}};
  plan.sites.resize(2);
  plan.sites[0].id = "elm";
  plan.sites[0].tanks = {{0}};
  plan.sites[1].id = "birch";
  plan.sites[1].tanks = {{1}};
  return plan;
}

using Random = std::mt19937_64;

double between(Random& random, double low, double high) {
  return std::uniform_real_distribution<double>(low, high)(random);
}

std::vector<TruthRow> random_truth(Random& random) {
  const std::vector<std::pair<Scope, std::string>> subjects{{Scope::site, "elm"},
                                                            {Scope::controller, "reef-logger"},
                                                            {Scope::site, "birch"},
                                                            {Scope::tank, "reef"}};
  std::vector<TruthRow> rows;
  for (double at = between(random, 0, 3000); at < 100'000; at += between(random, 200, 6000)) {
    const auto pick = random() % 10;
    const auto& [scope, id] = subjects[random() % subjects.size()];
    const double end = at + between(random, 20, pick < 5 ? 3000 : 400);
    if (pick < 5)
      rows.push_back({at, end, scope, id, "internet", TruthRow::Kind::outage});
    else if (pick < 8)
      rows.push_back({at, end, scope, id, "blip", TruthRow::Kind::blip});
    else if (pick < 9)
      rows.push_back({at, end, scope, id, "unknown", TruthRow::Kind::unknown});
    else
      rows.push_back(
          {at, end, Scope::watcher, "harbour", "watcher_uplink", TruthRow::Kind::watcher});
  }
  return rows;
}

std::vector<Suspicion> random_suspicions(Random& random) {
  std::vector<Suspicion> all;
  for (std::uint32_t c = 0; c < 3; ++c) {
    double at = between(random, 0, 2000);
    while (at < 100'000) {
      Suspicion one{c, 0, at, 0};
      one.raised_s = at + between(random, 60, 700);
      one.trusted_s = one.raised_s + between(random, 1, 2500);
      all.push_back(one);
      at = one.trusted_s + between(random, 0, 4000);
    }
  }
  std::sort(all.begin(), all.end(),
            [](const Suspicion& a, const Suspicion& b) { return a.raised_s < b.raised_s; });
  return all;
}

Decision decision(DecisionKind kind, OutageId outage, const Suspicion& suspicion, double at_s) {
  Decision made;
  made.kind = kind;
  made.outage = outage;
  made.subject = {Scope::controller, suspicion.controller};
  made.at = Instant::of_seconds(at_s);
  made.since = Instant::of_seconds(suspicion.since_s);
  return made;
}

// What a replay would say of a detector that decided so.
ReplaySummary by_summary(const WatchPlan& plan, const std::vector<TruthRow>& truth,
                         const std::vector<Suspicion>& suspicions) {
  DecisionLog log;
  OutageId outage = 0;
  for (const Suspicion& one : suspicions) {
    log.add(decision(DecisionKind::loss, ++outage, one, one.raised_s));
    log.add(decision(DecisionKind::recovery, outage, one, one.trusted_s));
  }
  return summarize(plan, log, &truth, 100'000);
}

void compare(std::uint64_t seed) {
  CAPTURE(seed);
  Random random(seed);
  const WatchPlan plan = two_sites();
  const auto truth = random_truth(random);
  const auto suspicions = random_suspicions(random);
  const TruthTable table(plan, truth);
  SuspicionJudge judge(table, plan.controllers.size());
  for (const Suspicion& one : suspicions) judge.add(one);
  const Figures figures = judge.figures();
  const ReplaySummary summary = by_summary(plan, truth, suspicions);
  CHECK(figures.notices == summary.decisions.at("loss"));
  CHECK(figures.false_losses == summary.false_losses);
  CHECK(figures.excess_notices == summary.excess_notices);
  CHECK(figures.unjudged == summary.unjudged_losses);
  CHECK(figures.outages == summary.outages);
  CHECK(figures.missed == summary.outages_missed);
  REQUIRE(figures.detection_s.size() == summary.detection_s.size());
  for (std::size_t i = 0; i < figures.detection_s.size(); ++i) {
    CHECK(figures.detection_s[i] == doctest::Approx(summary.detection_s[i]).epsilon(1e-6));
  }
  std::uint64_t by_controller = 0;
  for (const std::uint64_t count : figures.false_by_controller) by_controller += count;
  CHECK(by_controller == figures.false_losses);
}

}  // namespace

TEST_CASE("judge: random suspicions count as the summary of a replay counts them") {
  const char* runs = std::getenv("SIM_RUNS");
  const std::uint64_t count = runs == nullptr ? 200 : std::strtoull(runs, nullptr, 10);
  for (std::uint64_t seed = 1; seed <= count; ++seed) compare(seed);
}

TEST_CASE("judge: percentiles are by nearest rank, and of nothing there are none") {
  Figures figures;
  CHECK(figures.detection_percentile(0.5) < 0);
  figures.detection_s = {1, 2, 3, 4};
  CHECK(figures.detection_percentile(0.5) == 2);
  CHECK(figures.detection_percentile(0.99) == 4);
}
