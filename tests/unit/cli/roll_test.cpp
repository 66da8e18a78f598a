#include "cli/roll.h"

#include <doctest/doctest.h>

#include <boost/json/parse.hpp>

#include "text/rfc3339.h"

using namespace ebbwatch;

namespace {

const char* const example = R"({
  "watcher": "harbour", "own_link": "working", "store": "working",
  "sites": [{"id": "elm-street", "name": "Elm Street", "contact": "in_doubt", "alarm": "unacknowledged",
    "tanks": [{"id": "lagoon", "name": "Lagoon reef", "contact": "lost", "alarm": "unacknowledged",
      "controllers": [
        {"id": "lagoon-main", "name": "lagoon-main", "contact": "silent",
         "last_heard": "2026-11-25T12:00:00.000Z"},
        {"id": "lagoon-logger", "name": "lagoon-logger", "contact": "enrolled", "last_heard": null}]}]}],
  "outages": [{"outage": "harbour-17", "scope": "tank", "subject": "lagoon", "name": "Lagoon reef",
    "since": "2026-11-25T12:00:00.000Z", "cause": "mains_power", "confidence": 0.9,
    "alarm": "unacknowledged"}],
  "notifiers": [{"id": "mail", "state": "failing", "since": "2026-11-25T12:10:00.000Z",
    "answer": "SMTP 451 Try later", "waiting": 2, "dead_letters": 0}]
})";

std::string roll(const char* json) {
  return roll_text(boost::json::parse(json).as_object(), *from_rfc3339("2026-11-25T12:12:30Z"));
}

}  // namespace

TEST_CASE("roll: sites, tanks, controllers, outages and the watcher itself, in words") {
  CHECK(roll(example) ==
        "Elm Street (elm-street)                 in doubt          unacknowledged\n"
        "  Lagoon reef (lagoon)                  lost              unacknowledged\n"
        "    lagoon-main                         silent            heard 12 min ago\n"
        "    lagoon-logger                       enrolled          never heard\n"
        "\n"
        "Running outages:\n"
        "  harbour-17  Lagoon reef (tank), since 2026-11-25T12:00:00.000Z\n"
        "    cause mains power, alarm unacknowledged\n"
        "Take one on with: ebbwatch acknowledge OUTAGE --by NAME\n"
        "\n"
        "The watcher harbour itself:\n"
        "  own link                              working\n"
        "  store                                 working\n"
        "  notifier mail                         FAILING           2 min 30 s ago, 2 waiting\n"
        "      it said: SMTP 451 Try later\n");
}

TEST_CASE("roll: says when nothing is wrong, and why a changed configuration was refused") {
  const std::string text = roll(R"({"watcher": "harbour", "own_link": "not_judged",
    "store": "The disk is full.", "sites": [], "outages": [], "notifiers": [],
    "configuration_refused": "ebbwatch.yaml:3:1: on_dealy: unknown key"})");
  CHECK(text.find("No outage is running.") != std::string::npos);
  CHECK(text.find("FAILING           The disk is full.") != std::string::npos);
  CHECK(text.find("ebbwatch.yaml:3:1") != std::string::npos);
}
