#include "report/collect.h"

#include <doctest/doctest.h>

#include "report/strips.h"
#include "sample.h"
#include "support/memory_store.h"

using namespace ebbwatch;
using test::at;

namespace {

Settings two_sites() {
  Settings settings;
  settings.watcher.name = "harbour";
  for (const char* id : {"elm", "oak"}) {
    SiteSettings site;
    site.id = id;
    site.name = std::string("Site ") + id;
    site.area = "north";
    TankSettings tank;
    tank.id = site.id + "-tank";
    tank.name = "Tank " + site.id;
    ControllerSettings controller;
    controller.id = controller.name = site.id + "-main";
    tank.controllers = {controller};
    site.tanks = {tank};
    settings.sites.push_back(site);
  }
  settings.keyholders = {{"robin", "Robin", "", "", {"en"}}, {"sam", "Sam", "", "", {"en"}}};
  return settings;
}

void decide(Batch& batch, const std::string& kind, const std::string& scope,
            const std::string& subject, std::uint64_t outage, WallTime when, WallTime since,
            const std::string& cause = "mains_power") {
  const auto since_s = std::to_string(since.us / 1'000'000);
  batch.decisions.push_back(
      {0, when, kind, scope, subject, outage,
       R"({"since_s": )" + since_s + R"(, "cause": ")" + cause + R"(", "confidence": 0.7})"});
}

Result<report::Record> october(Store& store, const std::string& site = "") {
  return report::collect(store, two_sites(),
                         {"October", at("01T00:00:00"), at("31T00:00:00"), site});
}

}  // namespace

TEST_CASE("collect: an outage has the scope that it grew to, and the tanks of that scope") {
  test::MemoryStore store;
  Batch batch;
  decide(batch, "loss", "site", "elm", 4, at("05T14:03:00"), at("05T14:00:00"), "undetermined");
  decide(batch, "cause_revised", "area", "north", 4, at("05T14:05:00"), at("05T14:00:00"));
  decide(batch, "recovery", "area", "north", 4, at("05T15:10:00"), at("05T15:00:00"));
  batch.notices.push_back({"n1", 4, "loss", "robin", "mail", "delivered", 1, at("05T14:03:00"),
                           at("05T14:03:00"), at("05T14:03:02"), "", "{}"});
  CallRow call;
  call.outage = 4;
  call.acknowledged_at = at("05T14:09:00");
  call.acknowledged_by = "robin";
  batch.calls.push_back(call);
  batch.check_ins.push_back({at("03T00:00:00"), "elm-main", {}, {}, "", false, ""});
  batch.drills.push_back({9, at("20T18:00:00"), "elm", "Kim", "robin sam", "robin", true});
  REQUIRE(store.commit(batch).ok());
  const auto record = october(store);
  REQUIRE(record.ok());
  REQUIRE(record.value().outages.size() == 1);
  const auto& outage = record.value().outages[0];
  CHECK(outage.id == "harbour-4");
  CHECK(outage.scope == "area");
  CHECK(outage.cause == "mains_power");
  CHECK(outage.tanks == std::vector<std::string>{"elm-tank", "oak-tank"});
  CHECK(outage.decided_at == at("05T14:03:00"));
  CHECK(outage.returned == at("05T15:00:00"));
  CHECK(outage.acknowledged_by == "Robin");
  REQUIRE(outage.notices.size() == 1);
  CHECK(outage.notices[0].person == "Robin");
  CHECK(record.value().tanks[0].watched_from == at("03T00:00:00"));
  CHECK_FALSE(record.value().tanks[1].watched_from.has_value());
  REQUIRE(record.value().drills.size() == 1);
  CHECK(record.value().drills[0].silent == std::vector<std::string>{"Sam"});
}

TEST_CASE("collect: what began before and ended after the month is cut by availability, not lost") {
  test::MemoryStore store;
  Batch batch;
  const WallTime before = at("01T00:00:00") - Span::of_days(2);
  const WallTime after = at("31T00:00:00") + Span::of_days(2);
  decide(batch, "loss", "tank", "elm-tank", 1, before, before);
  decide(batch, "recovery", "tank", "elm-tank", 1, at("02T00:00:00"), at("02T00:00:00"));
  decide(batch, "loss", "tank", "oak-tank", 2, at("30T12:00:00"), at("30T12:00:00"));
  decide(batch, "recovery", "tank", "oak-tank", 2, after, after);
  decide(batch, "watch_gap", "watcher", "harbour", 0, after, at("30T20:00:00"));
  decide(batch, "loss", "tank", "oak-tank", 3, after, after);
  batch.check_ins.push_back({before - Span::of_h(1), "elm-main", {}, {}, "", false, ""});
  batch.check_ins.push_back({before - Span::of_h(1), "oak-main", {}, {}, "", false, ""});
  REQUIRE(store.commit(batch).ok());
  const auto record = october(store);
  REQUIRE(record.ok());
  CHECK(record.value().outages.size() == 2);
  const auto times = report::tank_times(record.value());
  CHECK(times[0].lost == Span::of_days(1));
  CHECK(times[1].lost == Span::of_h(8));
  CHECK(times[1].unwatched == Span::of_h(4));
  const auto elm = october(store, "elm");
  REQUIRE(elm.ok());
  CHECK(elm.value().outages.size() == 1);
  CHECK(elm.value().tanks.size() == 1);
}

TEST_CASE("collect: since a stop in good order nobody has watched") {
  test::MemoryStore store;
  Batch batch;
  batch.check_ins.push_back({at("03T00:00:00"), "elm-main", {}, {}, "", false, ""});
  batch.watcher_rows.push_back({at("20T00:00:00"), "stop", "", true});
  REQUIRE(store.commit(batch).ok());
  const auto record = october(store);
  REQUIRE(record.ok());
  CHECK(record.value().gaps ==
        std::vector<report::Stretch>{{at("20T00:00:00"), at("31T00:00:00")}});
}

TEST_CASE("collect: a strip has a pen for every reading and shading for what was lost") {
  test::MemoryStore store;
  Batch batch;
  for (int minute = 0; minute < 60; ++minute) {
    batch.check_ins.push_back(
        {at("05T12:00:00") + Span::of_min(minute),
         "elm-main",
         {},
         {},
         "",
         false,
         R"({"temperature_c": 25.5, "watts": {"heater": 120, "pump": "broken"}})"});
  }
  decide(batch, "loss", "tank", "elm-tank", 1, at("05T13:05:00"), at("05T13:00:00"));
  REQUIRE(store.commit(batch).ok());
  const Settings settings = two_sites();
  const auto strips = report::tank_strips(store, settings, settings.sites[0], "",
                                          {at("05T11:00:00"), at("05T15:00:00")});
  REQUIRE(strips.ok());
  REQUIRE(strips.value().size() == 1);
  const auto& strip = strips.value()[0];
  std::string names;
  for (const auto& track : strip.tracks) names += track.name + "; ";
  CHECK(names == "Spacing of the check-ins of elm-main; Water, °C; heater, W; ");
  CHECK(strip.tracks[0].points.size() == 59);
  CHECK(strip.tracks[0].points[7].y == 60);
  REQUIRE(strip.bands.size() == 1);
  CHECK(strip.bands[0].to - strip.bands[0].from == 7200);
  CHECK(strip.description == "1 outage, out of contact 2 h.");
  const auto none = report::tank_strips(store, settings, settings.sites[1], "oak-tank",
                                        {at("05T11:00:00"), at("05T15:00:00")});
  REQUIRE(none.ok());
  CHECK(none.value().at(0).tracks.at(0).name == "Nothing was heard of it in this time");
}

TEST_CASE("collect: what people mark as false counts, also when they say so after the month") {
  test::MemoryStore store;
  Batch batch;
  decide(batch, "loss", "site", "elm", 4, at("05T14:03:00"), at("05T14:00:00"));
  decide(batch, "note", "site", "elm", 4, at("05T14:20:00"), at("05T14:20:00"));
  decide(batch, "loss", "site", "oak", 5, at("06T14:03:00"), at("06T14:00:00"));
  decide(batch, "marked_false", "site", "oak", 5, at("07T00:00:00"), at("07T00:00:00"));
  decide(batch, "marked_true", "site", "oak", 5, at("08T00:00:00"), at("08T00:00:00"));
  decide(batch, "marked_false", "site", "elm", 4, at("31T12:00:00"), at("31T12:00:00"));
  REQUIRE(store.commit(batch).ok());
  const auto record = october(store);
  REQUIRE(record.ok());
  REQUIRE(record.value().outages.size() == 2);
  CHECK(record.value().outages[0].marked_false);
  CHECK_FALSE(record.value().outages[1].marked_false);
  CHECK(record.value().outages[0].decided_at == at("05T14:03:00"));
}
