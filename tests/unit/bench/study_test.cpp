// A whole study of a tiny set that is made here: every count is known beforehand.
#include "study/study.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <filesystem>
#include <fstream>

#include "detectors/fixed_timeout.h"
#include "study/comparison.h"
#include "study/curves.h"
#include "study/tables.h"
#include "support/temporary_folder.h"

using namespace ebbwatch;
using namespace ebbwatch::bench;

namespace {

constexpr const char* site_yaml = R"(watcher:
  name: harbour
  state_dir: /var/lib/ebbwatch
  uplink_references:
    - {name: resolver, tcp: "192.0.2.53:53"}
  uplink_every: 1min
sites:
  - id: elm
    name: Elm Street
    call_list: everyday
    tanks:
      - id: reef
        name: Reef
        volume_l: 100
        controllers:
          - {id: reef-main, interval: 60s, supply: mains}
  - id: birch
    name: Birch Street
    call_list: everyday
    tanks:
      - id: nano
        name: Nano
        volume_l: 100
        controllers:
          - {id: nano-main, interval: 60s, supply: mains}
notifiers:
  - {id: hook, kind: webhook, url: "https://hooks.example.net/tanks", signing_key: {file: hook.key}}
keyholders:
  - {id: robin, name: Robin, email: robin@example.net, phone: "+15550100", languages: [en]}
call_lists:
  - id: everyday
    steps:
      - {after: 0min, tell: [robin], by: [hook]}
)";

// The reef is silent from minute 60 to 100, the nano tank for three minutes at 130, and the
// watcher's own link does not work from 180 to 190.
constexpr const char* truth_csv =
    "start_s,end_s,scope,subject,cause\n"
    "3560,5990,site,elm,internet\n"
    "7750,7970,site,birch,blip\n"
    "10790,11390,watcher,harbour,watcher_uplink\n";

bool is_silent(int minute, bool is_reef) {
  const bool own_link_down = minute >= 180 && minute < 190;
  if (is_reef) return own_link_down || (minute >= 60 && minute < 100);
  return own_link_down || (minute >= 130 && minute < 133);
}

std::string check_in(double at_s, const char* controller, int minute) {
  std::array<char, 128> text{};
  std::snprintf(text.data(), text.size(), "%.0f,harbour,check-in,%s,,%d,%d,mains\n", at_s,
                controller, minute, minute * 60);
  return text.data();
}

std::string trace_csv() {
  std::string out = "time_s,watcher,kind,subject,ok,seq,uptime_s,power\n0,harbour,start,,,,,\n";
  for (int minute = 1; minute < 240; ++minute) {
    const int at_s = minute * 60;
    if (!is_silent(minute, true)) out += check_in(at_s, "reef-main", minute);
    if (!is_silent(minute, false)) out += check_in(at_s + 10, "nano-main", minute);
    const bool own_link_down = minute >= 180 && minute < 190;
    out += std::to_string(at_s + 30) + ",harbour,uplink,resolver," + (own_link_down ? "0" : "1") +
           ",,,\n";
  }
  return out;
}

void write(const std::string& path, const std::string& text) {
  std::ofstream(path) << text;
}

// `folder` with one set in it.
void make_set(const std::string& folder) {
  std::filesystem::create_directory(folder);
  write(folder + "/site.yaml", site_yaml);
  write(folder + "/trace.csv.gz", trace_csv());  // Plain text is read as well.
  write(folder + "/truth.csv", truth_csv);
}

Setting fixed(double timeout_s) {
  return {Family::fixed_timeout, std::to_string(timeout_s),
          [timeout_s](double) { return std::make_unique<FixedTimeout>(timeout_s); }};
}

Study studied(const std::vector<Setting>& settings, const std::vector<OwnSetting>& own) {
  const test::TemporaryFolder folder;
  make_set(folder.path() + "/tiny");
  const auto found = find_sets(folder.path());
  REQUIRE(found.ok());
  REQUIRE(found.value().size() == 1);
  const auto set = load_set(found.value().front());
  REQUIRE_MESSAGE(set.ok(), (set.ok() ? "" : set.error().text));
  const auto study = run_study(set.value(), settings, own);
  REQUIRE(study.ok());
  return study.value();
}

}  // namespace

TEST_CASE("study: a fixed time-out tells the outage, the blip and its own link's failure") {
  const Study study = studied({fixed(150)}, {});
  REQUIRE(study.references.size() == 2);
  const Figures& plain = study.references[0].figures;
  CHECK(plain.notices == 4);
  CHECK(plain.false_losses == 3);
  CHECK(plain.false_by_controller == std::vector<std::uint64_t>{1, 2});
  CHECK(plain.excess_notices == 0);
  CHECK(plain.outages == 1);
  CHECK(plain.missed == 0);
  // Last heard at 3540, 150 s later suspected; contact was really lost at 3560.
  CHECK(plain.detection_s == std::vector<double>{130});
}

TEST_CASE("study: with the rule for the own link only the blip is told for nothing") {
  const Study study = studied({fixed(150)}, {});
  const ReferencePoint& holding = study.references[1];
  CHECK(holding.holds);
  CHECK(holding.figures.notices == 2);
  CHECK(holding.figures.false_losses == 1);
  CHECK(holding.figures.detection_s == std::vector<double>{130});
}

TEST_CASE("study: a time-out longer than the outage misses it") {
  const Study study = studied({fixed(3600)}, {});
  CHECK(study.references[1].figures.missed == 1);
  CHECK(study.references[1].figures.notices == 0);
  CHECK(study.references[1].figures.detection_percentile(0.5) < 0);
}

TEST_CASE("study: ours tells the outage alone, and its speed follows the on-delay") {
  const Study study = studied({fixed(150)}, {{Span::of_min(8), 3}});
  REQUIRE(study.own.size() == 2);
  for (const OwnPoint& own : study.own) {
    CHECK(own.summary.decisions.at("loss") == 1);
    CHECK(own.summary.outages_found == 1);
    CHECK(own.summary.false_losses == 0);
  }
  const double slower_by =
      study.own[1].summary.detection_s.front() - study.own[0].summary.detection_s.front();
  CHECK(slower_by == doctest::Approx(180));
  CHECK(study.blips == 1);
  CHECK(study.controllers == std::vector<std::string>{"reef-main", "nano-main"});
}

TEST_CASE(
    "comparison: the best as fast has the fewest false losses, and ties go to fewer notices") {
  const Study study = studied({fixed(30), fixed(150), fixed(300), fixed(330)}, {});
  const auto found = match(study, study.own.front());
  REQUIRE(found.has_value());
  REQUIRE(found->best != nullptr);
  CHECK(found->best->holds);
  CHECK(found->best->figures.false_losses == 0);
  const auto best = frontier(study, Family::fixed_timeout, false);
  REQUIRE(best.size() >= 2);
  for (std::size_t i = 1; i < best.size(); ++i) {
    CHECK(best[i]->figures.false_losses < best[i - 1]->figures.false_losses);
  }
  for (const Goal& goal : goals(study, false)) CHECK(goal.reached);
}

TEST_CASE("comparison: its table fits 80 columns, and its CSV has a row for every point") {
  const Study study = studied(all_settings(), own_settings());
  const std::string table = comparison_table(study) + controller_table(study, 300);
  std::size_t start = 0;
  while (start < table.size()) {
    const std::size_t end = table.find('\n', start);
    CHECK(end - start <= 80);
    start = end + 1;
  }
  const std::string csv = points_csv(study);
  const auto rows = std::count(csv.begin(), csv.end(), '\n');
  CHECK(static_cast<std::size_t>(rows) == 1 + study.own.size() + study.references.size());
  CHECK(study.references.size() == 2 * all_settings().size());
}

TEST_CASE("curves: ours and five families, each ending with its fewest false losses") {
  const Study study = studied(all_settings(), own_settings());
  const auto chart = curves(study);
  REQUIRE(chart.has_value());
  REQUIRE(chart->series.size() == 1 + family_count);
  CHECK(chart->series.front().name == "ebbwatch");
  for (const auto& series : chart->series) {
    CAPTURE(series.name);
    REQUIRE_FALSE(series.points.empty());
    for (std::size_t i = 1; i < series.points.size(); ++i) {
      CHECK(series.points[i].x > series.points[i - 1].x);
      CHECK(series.points[i].y < series.points[i - 1].y);
    }
  }
  CHECK(chart->series.front().points.back().y == 0);
}

TEST_CASE("curves: where nothing was detected there is no speed and no chart") {
  Study study = studied({fixed(150)}, {});
  study.own.front().summary.detection_s.clear();
  CHECK_FALSE(curves(study).has_value());
}

TEST_CASE("sets: a folder without any is an error that names it") {
  const test::TemporaryFolder folder;
  const auto found = find_sets(folder.path());
  REQUIRE_FALSE(found.ok());
  CHECK(found.error().text.find(folder.path()) == 0);
}
