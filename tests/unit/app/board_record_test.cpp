#include "app/board_record.h"

#include <doctest/doctest.h>

#include "app/stored_decision.h"

using namespace ebbwatch;

namespace {

constexpr WallTime noon{Span::of_s(1'700'000'000).us};

Settings mill() {
  Settings settings;
  settings.watcher.name = "pier";
  settings.keyholders.emplace_back();
  settings.keyholders[0].id = "robin";
  settings.keyholders[0].name = "Robin";
  settings.sites.emplace_back();
  settings.sites[0].id = "mill";
  settings.sites[0].name = "Old mill";
  settings.sites[0].call_list = "everyday";
  settings.sites[0].tanks.emplace_back();
  settings.sites[0].tanks[0].id = settings.sites[0].tanks[0].name = "lagoon";
  return settings;
}

DecisionRow row(const char* kind, const char* scope, const char* subject, std::uint64_t outage,
                const char* json) {
  return {0, noon, kind, scope, subject, outage, json};
}

std::vector<DecisionRow> rows() {
  return {row("loss", "tank", "lagoon", 1,
              R"({"since_s": 1699999000, "cause": "mains_power", "confidence": 0.8,
                  "evidence": ["The street is dark."]})"),
          row("note", "tank", "lagoon", 1, R"({"by": "robin", "text": "Breaker was OFF"})"),
          row("shelved", "site", "mill", 0, R"({"by": "Kim", "reason": "dry"})"),
          row("drill", "site", "mill", 2, R"({"by": "robin"})"),
          row("watch_gap", "watcher", "pier", 0, R"({"since_s": 1})"),
          row("recovery", "tank", "quay-tank", 3, "not JSON")};
}

std::string found(const HistoryView& asked) {
  HistoryView view = asked;
  view.most = 100;
  std::string out;
  for (const auto& line : history_lines(mill(), rows(), view, noon)) out += line.decision + "; ";
  return out;
}

}  // namespace

TEST_CASE("history: narrowed by kind, subject and words; a site stands for its tanks") {
  HistoryView view;
  CHECK(found(view) == "Recovery; Gap in the watching; Drill begun; Shelved; Note; Loss; ");
  view.kind = "outages";
  CHECK(found(view) == "Recovery; Loss; ");
  view.kind = "acts";
  CHECK(found(view) == "Shelved; Note; ");
  view.kind = "drills";
  CHECK(found(view) == "Drill begun; ");
  view.kind = "gaps";
  CHECK(found(view) == "Gap in the watching; ");
  view.kind = "nonsense";
  CHECK(found(view).empty());
  view.kind.clear();
  view.subject = "mill";
  CHECK(found(view) == "Drill begun; Shelved; Note; Loss; ");
  view.subject = "lagoon";
  CHECK(found(view) == "Note; Loss; ");
  view.subject.clear();
  view.words = "breaker was off";
  CHECK(found(view) == "Note; ");
  view.words = "STREET IS DARK";
  CHECK(found(view) == "Loss; ");
  view.words = "pier-3";
  CHECK(found(view) == "Recovery; ");
}

TEST_CASE("history: acts say who and what, decisions their cause") {
  HistoryView view;
  view.most = 100;
  const auto lines = history_lines(mill(), rows(), view, noon);
  CHECK(lines[3].detail == "Kim: dry");
  CHECK(lines[4].detail == "Robin: Breaker was OFF");
  CHECK(lines[5].cause == "mains power off (about 80 in 100)");
  CHECK(lines[5].detail.empty());
  view.most = 2;
  CHECK(history_lines(mill(), rows(), view, noon).size() == 2);
}

TEST_CASE("history: days are checked, and the end day counts") {
  HistoryView view;
  view.from = view.until = "2026-11-25";
  const auto query = history_query(view);
  REQUIRE(query.until.has_value());
  CHECK(*query.until - *query.from == Span::of_days(1));
  view.until = "25.11.2026";
  (void)history_query(view);
  CHECK_FALSE(view.complaint.empty());
}

TEST_CASE("performance: an aim that is missed is said to be") {
  report::Record record;
  record.from = noon - Span::of_days(30);
  record.until = noon;
  for (int i = 0; i < 6; ++i) {
    report::Outage outage;
    outage.scope = "tank";
    outage.name = "Lagoon";
    outage.since = outage.decided_at = noon - Span::of_days(2) + Span::of_min(i);
    outage.returned = outage.decided_at + Span::of_h(1);
    outage.marked_false = i == 0;
    outage.notices.push_back({"loss", "Robin", "mail", "delivered", outage.decided_at, {}});
    record.outages.push_back(outage);
  }
  const auto view = performance_view(record, 30);
  using Verdict = MeasureLine::Verdict;
  const auto of = [](const std::vector<MeasureLine>& lines, const std::string& name) {
    for (const auto& line : lines) {
      if (line.name == name) return line;
    }
    return MeasureLine{};
  };
  CHECK(of(view.measures, "Marked as false by people").value == "1 of 6");
  CHECK(of(view.measures, "Marked as false by people").verdict == Verdict::poor);
  CHECK(of(view.measures, "Taken on by somebody").verdict == Verdict::poor);
  CHECK(of(view.measures, "Standing for more than a day").verdict == Verdict::good);
  CHECK(view.loudest == "tank Lagoon");
  REQUIRE(view.people.size() == 1);
  CHECK(of(view.people[0].measures, "Most in ten minutes").value == "6");
  CHECK(of(view.people[0].measures, "Most in ten minutes").verdict == Verdict::poor);
  CHECK(of(view.people[0].measures, "Messages a week").value == "1.40");
}

TEST_CASE("drills: each way says whether it is proven, each exercise who has answered") {
  const std::vector<WayProof> ways = {{"robin", "mail", noon, {}, {}, true, true}};
  const std::vector<DrillRow> done = {
      {4, noon, "mill", "call list everyday", "robin sam", "robin", true},
      {7, noon, "mill", "robin", "robin", "", false}};
  const auto view = drills_view(mill(), ways, done, noon);
  REQUIRE(view.ways.size() == 1);
  CHECK(view.ways[0].person == "Robin");
  CHECK(view.ways[0].overdue);
  CHECK(view.ways[0].proven.iso.empty());
  REQUIRE(view.drills.size() == 2);
  CHECK(view.drills[0].outage == "pier-7");
  CHECK(view.drills[0].state == "waits for answers");
  CHECK(view.drills[1].told == "Robin, sam");
  CHECK(view.drills[1].site == "Old mill");
  CHECK(view.sites.size() == 1);
}
