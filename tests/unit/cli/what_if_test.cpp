#include "cli/what_if.h"

#include <doctest/doctest.h>

#include <sstream>

using namespace ebbwatch;

namespace {

ToldLoss told(double since_s, double after_s, double until_s, const std::string& tank = "lagoon",
              const std::string& site = "elm-street") {
  ToldLoss it{"tank",
              tank,
              site,
              Instant::of_seconds(since_s),
              Instant::of_seconds(since_s + after_s),
              {},
              "mains_power"};
  if (until_s > 0) it.recovered = Instant::of_seconds(until_s);
  return it;
}

std::string seconds(Instant at) {
  return std::to_string(at.us / 1'000'000);
}

}  // namespace

TEST_CASE("what-if: the same outage is paired, others stand alone, in order of time") {
  const auto losses = compare({told(1000, 360, 5000), told(20'000, 360, 20'700)},
                              {told(1000, 600, 5100), told(50'000, 600, 60'000)});
  REQUIRE(losses.size() == 3);
  CHECK((losses[0].then && losses[0].now));
  CHECK((losses[1].then && !losses[1].now));
  CHECK((!losses[2].then && losses[2].now));
}

TEST_CASE("what-if: outages of different sites are never the same, a wider scope is") {
  CHECK(compare({told(1000, 300, 9000)}, {told(1000, 300, 9000, "reef", "birch")}).size() == 2);
  ToldLoss area = told(1000, 300, 9000);
  area.scope = "area";
  area.subject = "north";
  area.site = "";
  CHECK(compare({told(1010, 300, 9000)}, {area}).size() == 1);
}

TEST_CASE("what-if: of outages that run to the end only those that began together are the same") {
  CHECK(compare({told(1000, 300, 0)}, {told(1060, 300, 0)}).size() == 1);
  CHECK(compare({told(1000, 300, 0)}, {told(9000, 300, 9900)}).size() == 2);
}

TEST_CASE("what-if: the table says who was told when, and what only one of them tells") {
  const auto losses =
      compare({told(1000, 360, 5000), told(20'000, 360, 20'700)}, {told(1000, 600, 5100)});
  CHECK("\n" + comparison_text(losses, seconds) == R"(
Told so long after the end of contact; the last column is the last cause.

silent since      what                       was told    these       cause
1000              tank lagoon                6 min       10 min      mains power
20000             tank lagoon                6 min       -           mains power
                  only then told

Told 2, with these settings 1: 1 only then told, 0 only with these settings.
The 1 of both would have been told 4 min later on average.
)");
}

TEST_CASE("what-if: the table keeps to 80 columns whatever the names") {
  const std::string name(63, 'x');
  ToldLoss it = told(1e9, 90'000, 2e9, name);
  ToldLoss other = told(1e9, 90'000, 2e9, "y" + name);
  std::istringstream lines(
      comparison_text(compare({it}, {other}), [](Instant) { return "2026-11-02 14:03 and more"; }));
  for (std::string line; std::getline(lines, line);) CHECK(line.size() <= 80);
}

TEST_CASE("what-if: stored decisions give what was told, with the last cause and scope") {
  WatchPlan plan;
  plan.controllers.push_back({"lagoon-main", {0}, Span::of_min(1), Supply::mains, {}});
  plan.tanks.push_back({"lagoon", {0}, {{0}}, {}});
  SitePlan site;
  site.id = "elm-street";
  site.tanks = {{0}};
  plan.sites.push_back(site);
  const auto row = [](std::int64_t s, const char* kind, const char* scope, const char* subject,
                      const char* cause, int since_s) {
    DecisionRow out;
    out.at = WallTime{s * 1'000'000};
    out.kind = kind;
    out.scope = scope;
    out.subject = subject;
    out.outage = 7;
    out.json =
        std::string(R"({"cause": ")") + cause + R"(", "since_s": )" + std::to_string(since_s) + "}";
    return out;
  };
  const auto read = told_losses({row(1300, "loss", "tank", "lagoon", "undetermined", 1000),
                                 row(1500, "cause_revised", "site", "elm-street", "internet", 1000),
                                 row(3000, "recovery", "site", "elm-street", "mains_power", 2800)},
                                plan);
  REQUIRE(read.ok());
  REQUIRE(read.value().size() == 1);
  const ToldLoss& it = read.value()[0];
  CHECK(it.scope + " " + it.subject + " " + it.site + " " + it.cause ==
        "site elm-street elm-street mains_power");
  CHECK(it.since == Instant::of_seconds(1000));
  CHECK(it.told_at == Instant::of_seconds(1300));
  CHECK(it.recovered == Instant::of_seconds(2800));
  DecisionRow broken = row(1, "loss", "tank", "lagoon", "internet", 1);
  broken.json = "{";
  CHECK_FALSE(told_losses({broken}, plan).ok());
}
