#include "scenario.h"

#include <doctest/doctest.h>

using namespace ebbwatch;
using namespace ebbwatch::fleet;

namespace {

std::string problems(const std::string& yaml) {
  const auto read = read_scenario(yaml, "s.yaml");
  return read ? "" : read.error().text;
}

}  // namespace

TEST_CASE("fleet scenario: the demonstration's file") {
  const auto read = read_scenario_file(EBBWATCH_SOURCE_DIR "/config/fleet-demo.yaml");
  REQUIRE_MESSAGE(read.ok(), (read.ok() ? "" : read.error().text));
  const auto& scenario = read.value();
  CHECK(scenario.controllers.size() == 4);
  CHECK(scenario.length == Span::of_s(100));
  CHECK(scenario.controllers[1].id == "lagoon-logger");
  CHECK(scenario.controllers[1].battery_backed);
  CHECK(scenario.controllers[3].site == "mill-cottage");
  REQUIRE(scenario.happenings.size() == 2);
  CHECK(scenario.happenings[0].kind == Happening::Kind::blip);
  CHECK(scenario.happenings[1].kind == Happening::Kind::mains_cut);
  CHECK(scenario.happenings[1].length == Span::of_s(40));
}

TEST_CASE("fleet scenario: defaults, written out and generated controllers") {
  const auto read = read_scenario(R"(
defaults: {interval: 30s, loss: 0.5, supply: battery_backed}
controllers:
  - {id: a, site: s, supply: mains}
generate:
  - {prefix: club, count: 1200, sites: 7, interval: 1min}
)",
                                  "s.yaml");
  REQUIRE_MESSAGE(read.ok(), (read.ok() ? "" : read.error().text));
  const auto& all = read.value().controllers;
  REQUIRE(all.size() == 1201);
  CHECK(all[0].interval == Span::of_s(30));
  CHECK(all[0].loss == 0.5);
  CHECK_FALSE(all[0].battery_backed);
  CHECK(all[1].id == "club-0001");
  CHECK(all[1].site == "club-site-1");
  CHECK(all[1].interval == Span::of_s(60));
  CHECK(all[1].battery_backed);
  CHECK(all[1200].id == "club-1200");
  CHECK(all[1200].site == "club-site-3");
}

TEST_CASE("fleet scenario: every problem of a file is told with its line in one run") {
  const auto text = problems(R"(lenght: 5s
length: 5
seed: -1
controllers:
  - {id: Lagoon, interval: 0s}
  - {id: a, supply: solar, loss: 2}
  - {id: a, interval: 2s, jitter: 3s}
happenings:
  - {at: 1s, blip: nobody, for: 1s}
  - {at: 1s, mains_cut: a, for: 0s}
  - {at: 1s, blip: a, crash: a}
)");
  CAPTURE(text);
  for (const char* wanted :
       {"s.yaml:1:1: lenght: unknown key", "Did you mean length?",
        "s.yaml:2:9: length: ", "s.yaml:3:7: seed: found -1", "s.yaml:5:10: id: found \"Lagoon\"",
        "s.yaml:5:28: interval: must be above 0", "s.yaml:6:21: supply: found \"solar\"",
        "s.yaml:6:34: loss: found 2", "s.yaml:7:5: jitter: must be at most", "\"a\" is there twice",
        "\"nobody\" is no controller or site", "\"a\" is no site", "for: must be above 0",
        "exactly one of blip, mains_cut, crash", "for: is missing"}) {
    CAPTURE(wanted);
    CHECK(text.find(wanted) != std::string::npos);
  }
}

TEST_CASE("fleet scenario: a file that is no YAML, no map, empty or absent is refused") {
  CHECK(problems("controllers: [").starts_with("s.yaml:"));
  CHECK_FALSE(problems("- 1").empty());
  CHECK_FALSE(problems("").empty());
  CHECK(problems("seed: 1").find("give controllers or generate some") != std::string::npos);
  CHECK(read_scenario_file("/nonexistent.yaml").error().code == Errc::not_found);
}
