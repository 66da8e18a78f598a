#include "advice/meter.h"

#include <doctest/doctest.h>

#include <random>
#include <set>

#include "advice/recorded_events.h"

using namespace ebbwatch;
using namespace ebbwatch::advice;

namespace {

WatchPlan plan_of_one(bool judges_link = true) {
  WatchPlan plan;
  plan.watcher = "harbour";
  plan.controllers.push_back({"lagoon-main", {0}, Span::of_min(1), Supply::mains, {}});
  plan.tanks.push_back({"lagoon", {0}, {{0}}, {}});
  SitePlan site;
  site.id = "elm-street";
  site.tanks = {{0}};
  plan.sites.push_back(site);
  if (judges_link) {
    plan.uplink_references = {"resolver"};
    plan.uplink_quorum = 1;
  }
  return plan;
}

/// A history in seconds: a check-in a minute and a check of the link every 30 s, but for what is
/// said otherwise.
struct Past {
  double hours = 24;
  std::vector<std::pair<double, double>> silent, link_down, stopped;
  std::set<int> lost;  // numbers of check-ins
  double jitter_s = 0;
  bool has_seq = true;

  static bool in(const std::vector<std::pair<double, double>>& spells, double s) {
    for (const auto& [from, to] : spells)
      if (s >= from && s < to) return true;
    return false;
  }
  History measured() const {
    Meter meter(plan_of_one());
    std::mt19937_64 random(3);
    std::normal_distribution<double> jitter(0, jitter_s > 0 ? jitter_s : 1);
    double arrives = 60;
    int number = 1;
    meter.on({Instant{0}, WatcherStarted{}});
    bool ran = true;
    for (int s = 15; s < hours * 3600; s += 30) {
      while (arrives < s) {
        feed(meter, arrives, number++);
        arrives = number * 60.0 + (jitter_s > 0 ? jitter(random) : 0);
      }
      const bool runs = !in(stopped, s);
      if (runs && !ran) meter.on({Instant::of_seconds(s), WatcherStarted{}});
      if (runs) meter.on({Instant::of_seconds(s), UplinkResult{{0}, !in(link_down, s)}});
      ran = runs;
    }
    return meter.result();
  }
  void feed(Meter& meter, double at, int number) const {
    if (in(silent, at) || in(link_down, at) || in(stopped, at) || lost.contains(number)) return;
    CheckIn check_in;
    check_in.controller = {0};
    if (has_seq) check_in.seq = static_cast<std::uint64_t>(number);
    meter.on({Instant::of_seconds(at), check_in});
  }
};

}  // namespace

TEST_CASE("meter: a steady day has no loss, no silence and all of its time watched") {
  const History history = Past{}.measured();
  const Measure& it = history.controllers[0];
  CHECK(it.heard == 1439);
  CHECK(it.expected == 1438);
  CHECK(it.lost == 0);
  CHECK(it.jitter_s < 0.01);
  CHECK(it.silences.count() == 0);
  CHECK(it.watched == Span::of_min(1438));
  CHECK(history.own.blind == Span{});
}

TEST_CASE("meter: single losses are losses and short silences") {
  for (const bool has_seq : {true, false}) {
    Past past;
    past.has_seq = has_seq;
    past.lost = {100, 200, 201, 900};
    const Measure it = past.measured().controllers[0];
    CHECK(it.lost == 4);
    CHECK(it.expected == 1438);
    CHECK(it.missed_three == 0);
    CHECK(it.silences.longer_than(Span::of_s(30)) == 3);
    CHECK(it.silences.longer_than(Span::of_s(100)) == 1);
  }
}

TEST_CASE("meter: a silence is measured from the first check-in that did not come") {
  Past past;
  past.silent = {{36'030, 36'630}};  // Ten check-ins.
  const Measure it = past.measured().controllers[0];
  CHECK(it.missed_three == 1);
  CHECK(it.longest.seconds() == doctest::Approx(600));
  CHECK(it.silences.longer_than(Span::of_s(560)) == 1);
  CHECK(it.silences.longer_than(Span::of_s(660)) == 0);
  CHECK(it.lost == 0);  // A silence, not chance.
}

TEST_CASE("meter: twenty minutes and more are an outage, not a false alarm") {
  Past past;
  past.silent = {{20'000, 30'000}};
  const Measure it = past.measured().controllers[0];
  CHECK(it.outages == 1);
  CHECK(it.silences.count() == 0);
}

TEST_CASE("meter: what the watcher could not hear is nobody's silence") {
  for (const bool stopped : {true, false}) {
    Past past;
    (stopped ? past.stopped : past.link_down) = {{36'000, 37'200}};
    const History history = past.measured();
    const Measure& it = history.controllers[0];
    CHECK(it.silences.count() == 0);
    CHECK(it.lost == 0);
    CHECK(it.left_out >= 1);
    CHECK(it.left_out <= 2);
    CHECK(history.own.blind.seconds() == doctest::Approx(1200).epsilon(0.06));
    CHECK((stopped ? history.own.stopped : history.own.cut_off) == 1);
    CHECK(it.watched.seconds() == doctest::Approx(86'280 - 1200).epsilon(0.002));
  }
}

TEST_CASE("meter: an announced stop is left out") {
  Meter meter(plan_of_one(false));
  for (int n = 1; n < 100; ++n) {
    CheckIn check_in;
    check_in.controller = {0};
    if (n == 50) check_in.leaving = Span::of_min(20);
    meter.on({Instant::of_seconds(n * 60 + (n > 50 ? 900 : 0)), check_in});
  }
  const Measure it = meter.result().controllers[0];
  CHECK(it.silences.count() == 0);
  CHECK(it.left_out == 1);
}

TEST_CASE("meter: the jitter is the standard deviation of the arrivals") {
  Past past;
  past.jitter_s = 2;
  past.hours = 200;
  // The forecast that it is measured against has an error of its own.
  const double jitter_s = past.measured().controllers[0].jitter_s;
  CHECK(jitter_s > 1.9);
  CHECK(jitter_s < 2.5);
}

TEST_CASE("meter: a history of nothing measures nothing") {
  const History history = Meter(plan_of_one()).result();
  CHECK(history.own.length == Span{});
  CHECK(history.controllers[0].heard == 0);
  CHECK(history.controllers[0].interval == Span::of_min(1));
}

TEST_CASE("meter: stored rows give the events that were stored") {
  RecordedEvents recorded(plan_of_one());
  const WallTime at{1'700'000'000'000'000};
  const Event heard =
      recorded.event_of(CheckInRow{at, "lagoon-main", 7, 420.0, "battery", true, ""});
  CHECK(heard.at.us == at.us);
  const auto& check_in = std::get<CheckIn>(heard.what);
  CHECK(*check_in.seq == 7);
  CHECK(*check_in.uptime_s == 420);
  CHECK(check_in.power == Power::battery);
  CHECK(check_in.buffered);
  CHECK(std::holds_alternative<WatcherStarted>(
      recorded.event_of(WatcherRow{at, "start", "", true}).what));
  CHECK(std::holds_alternative<WatcherStopped>(
      recorded.event_of(WatcherRow{at, "stop", "", true}).what));
  CHECK_FALSE(
      std::get<UplinkResult>(recorded.event_of(WatcherRow{at, "uplink", "resolver", false}).what)
          .answered);
  CHECK(
      std::holds_alternative<Tick>(recorded.event_of(WatcherRow{at, "uplink", "gone", true}).what));
  CHECK(std::holds_alternative<Tick>(
      recorded.event_of(CheckInRow{at, "gone", {}, {}, "", false, ""}).what));
  CHECK(recorded.passed_over() == 2);
}
