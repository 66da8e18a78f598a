// The figures of a replay, each rule on a case small enough to count by hand.
#include "trace/summary.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

namespace {

// Two sites with one tank each; the first has two controllers.
WatchPlan plan() {
  WatchPlan plan;
  plan.watcher = "harbour";
  const auto controller = [](const char* id, std::uint32_t tank) {
    ControllerPlan c;
    c.id = id;
    c.tank = {tank};
    c.interval = Span::of_s(60);
    return c;
  };
  plan.controllers = {controller("lagoon-main", 0), controller("lagoon-logger", 0),
                      controller("reef-main", 1)};
  plan.tanks = {{"lagoon", {0}, {{0}, {1}}, {}}, {"reef", {1}, {{2}}, {}}};
  SitePlan elm, birch;
  elm.id = "elm";
  elm.tanks = {{0}};
  birch.id = "birch";
  birch.tanks = {{1}};
  plan.sites = {elm, birch};
  return plan;
}

Decision decision(DecisionKind kind, double at_s, Subject subject, OutageId outage, double since_s,
                  Cause cause = Cause::undetermined) {
  Decision d;
  d.kind = kind;
  d.at = Instant::of_seconds(at_s);
  d.subject = subject;
  d.outage = outage;
  d.since = Instant::of_seconds(since_s);
  d.cause = cause;
  return d;
}

TruthRow truth(double start_s, double end_s, Scope scope, const char* subject, const char* cause,
               TruthRow::Kind kind = TruthRow::Kind::outage) {
  return {start_s, end_s, scope, subject, cause, kind};
}

constexpr Subject elm{Scope::site, 0}, birch{Scope::site, 1};
constexpr auto loss = DecisionKind::loss;
constexpr auto recovery = DecisionKind::recovery;

ReplaySummary judged(const std::vector<Decision>& decisions, const std::vector<TruthRow>& rows) {
  DecisionLog log;
  for (const Decision& d : decisions) log.add(d);
  return summarize(plan(), log, &rows, 86'400);
}

}  // namespace

TEST_CASE("summary: an outage that was told is found, with its detection time, cause and scope") {
  const auto s = judged({decision(loss, 1330, elm, 1, 990),
                         decision(recovery, 3200, elm, 1, 3010, Cause::mains_power)},
                        {truth(1000, 3000, Scope::site, "elm", "mains_power")});
  CHECK(s.outages == 1);
  CHECK(s.outages_found == 1);
  CHECK(s.outages_missed == 0);
  CHECK(s.true_losses == 1);
  CHECK(s.false_losses == 0);
  CHECK(s.excess_notices == 0);
  CHECK(s.detection_s == std::vector<double>{330});
  CHECK(s.causes_judged == 1);
  CHECK(s.causes_right == 1);
  CHECK(s.scopes_right == 1);
  CHECK(s.premature_recoveries == 0);
  CHECK(s.decisions.at("loss") == 1);
  CHECK(s.tank_years == doctest::Approx(2 / 365.0));
}

TEST_CASE("summary: an outage that nobody told is missed") {
  const auto s = judged({decision(loss, 1330, birch, 1, 990)},
                        {truth(1000, 3000, Scope::site, "elm", "mains_power")});
  CHECK(s.outages_missed == 1);
  REQUIRE(s.missed.size() == 1);
  CHECK(s.missed[0].subject == "elm");
  CHECK(s.false_losses == 1);  // The other site was fine.
}

TEST_CASE("summary: a loss told after the outage, before a first check-in could come, is true") {
  CHECK(judged({decision(loss, 1700, elm, 1, 995)},
               {truth(1000, 1620, Scope::site, "elm", "internet")})
            .true_losses == 1);
  CHECK(judged({decision(loss, 1760, elm, 1, 1625)},
               {truth(1000, 1620, Scope::site, "elm", "internet")})
            .false_losses == 1);
}

TEST_CASE("summary: a blip must not be told") {
  const auto s = judged({decision(loss, 1200, elm, 1, 995)},
                        {truth(1000, 1210, Scope::tank, "lagoon", "blip", TruthRow::Kind::blip)});
  CHECK(s.blips == 1);
  CHECK(s.blips_told == 1);
  CHECK(s.false_losses == 1);
  CHECK(s.outages == 0);
}

TEST_CASE("summary: the watcher's own outage told as a loss is false") {
  const auto s = judged(
      {decision(loss, 1200, birch, 1, 995)},
      {truth(1000, 1400, Scope::watcher, "harbour", "watcher_uplink", TruthRow::Kind::watcher)});
  CHECK(s.blind_losses == 1);
  CHECK(s.decided_while_blind == 1);
  CHECK(s.false_losses == 1);
}

TEST_CASE("summary: a loss where nothing is known is neither true nor false") {
  const auto s =
      judged({decision(loss, 1200, elm, 1, 995)},
             {truth(1000, 1400, Scope::site, "elm", "unknown", TruthRow::Kind::unknown)});
  CHECK(s.unjudged_losses == 1);
  CHECK(s.false_losses == 0);
}

TEST_CASE("summary: a second loss of the same outage is an excess notice") {
  const auto s = judged({decision(loss, 1330, elm, 1, 990), decision(recovery, 2000, elm, 1, 1800),
                         decision(loss, 2500, elm, 2, 2100)},
                        {truth(1000, 3000, Scope::site, "elm", "mains_power")});
  CHECK(s.outages_found == 1);
  CHECK(s.true_losses == 1);
  CHECK(s.excess_notices == 1);
  CHECK(s.premature_recoveries == 1);  // At 2000 s it was not over.
}

TEST_CASE("summary: two outages that one loss covers are both found") {
  const auto s = judged({decision(loss, 1330, elm, 1, 990), decision(recovery, 6000, elm, 1, 5800)},
                        {truth(1000, 3000, Scope::site, "elm", "internet"),
                         truth(3060, 5790, Scope::tank, "lagoon", "controller")});
  CHECK(s.outages == 2);
  CHECK(s.outages_found == 2);
  CHECK(s.excess_notices == 0);
  CHECK(s.detection_s.size() == 1);
}

TEST_CASE("summary: an outage within a spell of unsteadiness was told by the standing alarm") {
  const auto s = judged({decision(DecisionKind::unsteady, 500, elm, 0, 400),
                         decision(DecisionKind::steady, 9000, elm, 0, 8000)},
                        {truth(1000, 3000, Scope::site, "elm", "internet"),
                         truth(20'000, 23'000, Scope::site, "elm", "internet")});
  CHECK(s.outages_found == 1);
  CHECK(s.outages_missed == 1);
}

TEST_CASE("summary: an outage is asked for only when every rule allowed enough time") {
  // 600 s; 60 s + 5 min + 2 min = 480 s; 5 intervals = 300 s: 600 s decide.
  CHECK(judged({}, {truth(1000, 1599, Scope::site, "elm", "internet")}).optional_outages == 1);
  CHECK(judged({}, {truth(1000, 1601, Scope::site, "elm", "internet")}).outages == 1);
  // Only what the watcher could see counts.
  CHECK(judged({}, {truth(1000, 1700, Scope::site, "elm", "internet"),
                    truth(1100, 1300, Scope::watcher, "harbour", "watcher_uplink",
                          TruthRow::Kind::watcher)})
            .optional_outages == 1);
}

TEST_CASE("summary: a longer interval asks for more time") {
  WatchPlan slow = plan();
  slow.controllers[2].interval = Span::of_min(5);
  const std::vector<TruthRow> rows{truth(1000, 2450, Scope::site, "birch", "internet")};
  CHECK(summarize(slow, DecisionLog{}, &rows, 86'400).optional_outages == 1);  // 5 x 5 min.
}

TEST_CASE("summary: the last cause and the last scope count") {
  const auto revised = decision(DecisionKind::cause_revised, 1500, elm, 1, 990, Cause::internet);
  const auto s =
      judged({decision(loss, 1330, {Scope::tank, 0}, 1, 990, Cause::mains_power), revised},
             {truth(1000, 3000, Scope::site, "elm", "internet")});
  CHECK(s.causes_right == 1);
  CHECK(s.scopes_right == 1);
  const auto undetermined = judged({decision(loss, 1330, elm, 1, 990)},
                                   {truth(1000, 3000, Scope::site, "elm", "undetermined")});
  CHECK(undetermined.causes_judged == 0);
}

TEST_CASE("summary: percentiles by nearest rank") {
  ReplaySummary s;
  CHECK_FALSE(s.detection_percentile(0.5).has_value());
  for (int i = 1; i <= 100; ++i) s.detection_s.push_back(i);
  CHECK(s.detection_percentile(0.5) == 50);
  CHECK(s.detection_percentile(0.9) == 90);
  CHECK(s.detection_percentile(0.99) == 99);
  CHECK(s.detection_percentile(1) == 100);
  s.detection_s = {7};
  CHECK(s.detection_percentile(0.01) == 7);
}

TEST_CASE("summary: as JSON and as a table of at most 80 columns") {
  const auto s =
      judged({decision(loss, 1330, elm, 1, 990), decision(loss, 50'000, birch, 2, 49'000)},
             {truth(1000, 3000, Scope::site, "elm", "internet"),
              truth(30'000, 33'000, Scope::site, "birch", "mains_power")});
  const std::string json = summary_json(s, plan());
  CHECK(json.find("\"outages_found\": 1, \"outages_missed\": 1") != std::string::npos);
  CHECK(json.find("\"detection_s\": {\"p50\": 330.000, \"p90\": 330.000, \"p99\": 330.000}") !=
        std::string::npos);
  CHECK(json.find("\"false_ones\": [{\"time_s\": 50000.000, \"since_s\": 49000.000, "
                  "\"scope\": \"site\", \"subject\": \"birch\"}]") != std::string::npos);
  CHECK(json.ends_with("}\n"));
  const std::string table = summary_text(s, plan());
  CHECK(table.find("  missed: site birch, mains_power, 30000 s to 33000 s\n") != std::string::npos);
  for (std::size_t start = 0; start < table.size();) {
    const std::size_t end = table.find('\n', start);
    CHECK(end - start <= 80);
    start = end + 1;
  }
  DecisionLog nothing;
  const auto without = summarize(plan(), nothing, nullptr, 100);
  CHECK(summary_json(without, plan()).find("outages") == std::string::npos);
}
