// A replay as a whole: the trace's time, witnesses, and decisions that never look ahead.
#include "cli/replay_run.h"

#include <doctest/doctest.h>

#include <fstream>

#include "support/temporary_folder.h"

using namespace ebbwatch;

namespace {

// One tank with one controller that checks in every minute.
WatchPlan plan() {
  WatchPlan plan;
  plan.watcher = "harbour";
  ControllerPlan controller;
  controller.id = "reef-main";
  controller.tank = {0};
  controller.interval = Span::of_min(1);
  plan.controllers = {controller};
  plan.tanks = {{"reef", {0}, {{0}}, {}}};
  SitePlan site;
  site.id = "elm";
  site.tanks = {{0}};
  plan.sites = {site};
  return plan;
}

// Silent from minute 60 to 100.
std::vector<std::string> rows() {
  std::vector<std::string> rows{"0,harbour,start,,,,,\n"};
  for (int minute = 1; minute < 180; ++minute) {
    if (minute >= 60 && minute < 100) continue;
    const std::string n = std::to_string(minute);
    rows.push_back(std::to_string(minute * 60) + ",harbour,check-in,reef-main,," + n + "," +
                   std::to_string(minute * 60) + ",mains\n");
  }
  return rows;
}

struct Outcome {
  std::vector<std::string> lines;
  Result<ReplayRun> run{Error{}};
};

Outcome replayed(const std::vector<std::string>& rows, std::size_t count,
                 std::size_t lines_wanted = 1000) {
  const test::TemporaryFolder folder;
  const std::string path = folder.path() + "/trace.csv";
  {
    std::ofstream out(path);
    out << "time_s,watcher,kind,subject,ok,seq,uptime_s,power\n";
    for (std::size_t i = 0; i < count; ++i) out << rows[i];
  }
  Outcome outcome;
  const WatchPlan here = plan_for_replay(plan(), "harbour", {"harbour"});
  const auto sink = [&](std::string_view line) {
    outcome.lines.emplace_back(line);
    return outcome.lines.size() < lines_wanted;
  };
  outcome.run = run_replay(here, path, sink, [](double) {});
  return outcome;
}

}  // namespace

TEST_CASE("replay: a long silence is one loss and one recovery, at the times of the trace") {
  const auto all = rows();
  const Outcome outcome = replayed(all, all.size());
  REQUIRE(outcome.run.ok());
  CHECK(outcome.run.value().rows == all.size());
  CHECK(outcome.run.value().length_s == 179 * 60);
  CHECK(outcome.run.value().log.count(DecisionKind::loss) == 1);
  CHECK(outcome.run.value().log.count(DecisionKind::recovery) == 1);
  REQUIRE(outcome.run.value().log.outages().size() == 1);
  const ToldOutage& told = outcome.run.value().log.outages()[0];
  CHECK(told.told_s >= 60 * 60 + 4 * 60);
  CHECK(told.told_s <= 60 * 60 + 8 * 60);
  REQUIRE(outcome.lines.size() >= 2);
  CHECK(outcome.lines.front().find("\"decision\":") != std::string::npos);
  CHECK(outcome.lines.front().starts_with("{\"time_s\": "));
}

TEST_CASE(
    "replay: nothing is decided after the last row, so a part decides what the whole decides") {
  const auto all = rows();
  const auto whole = replayed(all, all.size()).lines;
  for (std::size_t count = 0; count <= all.size(); ++count) {
    CAPTURE(count);
    const auto part = replayed(all, count).lines;
    REQUIRE(part.size() <= whole.size());
    CHECK(std::equal(part.begin(), part.end(), whole.begin()));
  }
}

TEST_CASE("replay: a sink that cannot write stops the run") {
  const auto all = rows();
  const Outcome outcome = replayed(all, all.size(), 1);
  REQUIRE_FALSE(outcome.run.ok());
  CHECK(outcome.run.error().code == Errc::cancelled);
  CHECK(outcome.lines.size() == 1);
}

TEST_CASE("replay: every other watcher of the trace is a witness") {
  WatchPlan given = plan();
  given.witnesses = {"elsewhere"};
  const WatchPlan own = plan_for_replay(given, "harbour", {"pier", "harbour", "breakwater"});
  CHECK(own.watcher == "harbour");
  CHECK(own.witnesses == std::vector<std::string>{"pier", "breakwater"});
  CHECK_FALSE(own.judges_own_presence);  // No references, so no uplink rows to go by.
  given.uplink_references = {"resolver"};
  const WatchPlan other = plan_for_replay(given, "pier", {"pier", "harbour"});
  CHECK(other.watcher == "pier");
  CHECK(other.witnesses == std::vector<std::string>{"harbour"});
  CHECK(other.judges_own_presence);
}
