// One invented month of two tanks at two sites.
#pragma once

#include <cstdlib>
#include <ctime>

#include "report/record.h"
#include "text/rfc3339.h"

namespace ebbwatch::test {

inline WallTime at(const std::string& text) {
  return *from_rfc3339("2026-10-" + text + "Z");
}

inline report::Notice notice(const std::string& person, WallTime created) {
  return {"loss", person, "mail", "delivered", created, created + Span::of_s(2)};
}

inline report::Record sample_month() {
  setenv("TZ", "UTC", 1);
  tzset();
  report::Record record;
  record.watcher = "harbour";
  record.title = "October 2026";
  record.from = at("01T00:00:00");
  record.until = at("31T00:00:00") + Span::of_days(1);
  record.gaps = {{at("10T00:00:00"), at("10T01:00:00")}};
  record.tanks = {{"lagoon", "Lagoon reef", "Elm Street", record.from},
                  {"bay", "Bay", "Oak Street", at("16T00:00:00")},
                  {"new", "New", "Oak Street", std::nullopt}};
  report::Outage power;
  power.id = "harbour-17";
  power.scope = "site";
  power.subject = "elm-street";
  power.name = "Elm Street";
  power.cause = "mains_power";
  power.confidence = 0.85;
  power.since = at("05T14:00:00");
  power.decided_at = at("05T14:03:00");
  power.returned = at("05T15:12:00");
  power.tanks = {"lagoon"};
  power.notices = {notice("Robin", at("05T14:03:00")), notice("Sam", at("05T14:18:00"))};
  power.acknowledged_at = at("05T14:07:00");
  power.acknowledged_by = "Robin";
  // Begins in the watcher's own gap: only the half hour after it counts.
  report::Outage link = power;
  link.id = "harbour-18";
  link.cause = "internet";
  link.since = at("10T00:30:00");
  link.decided_at = at("10T01:10:00");
  link.returned = at("10T01:30:00");
  link.notices = {notice("Robin", at("10T01:10:00"))};
  link.acknowledged_at.reset();
  record.outages = {power, link};
  record.drills = {{at("20T18:00:00"), "Elm Street", "Kim", 2, 1, {"Sam"}}};
  record.unsteady = {"lagoon-main"};
  return record;
}

}  // namespace ebbwatch::test
