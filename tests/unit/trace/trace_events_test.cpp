// Rows become events as one watcher and its witnesses saw them. Events are compared as text.
#include "trace/trace_events.h"

#include <sstream>

#include "unit/trace/files.h"

using namespace ebbwatch;
using test::Files;
using test::trace_header;

namespace {

WatchPlan plan() {
  WatchPlan plan;
  plan.watcher = "harbour";
  for (const char* id : {"lagoon", "reef"}) {
    ControllerPlan controller;
    controller.id = id;
    controller.interval = Span::of_s(60);
    plan.controllers.push_back(controller);
  }
  plan.uplink_references = {"resolver", "portal"};
  plan.uplink_quorum = 1;
  plan.uplink_every = Span::of_s(30);
  plan.witnesses = {"breakwater"};
  return plan;
}

struct Describe {
  std::ostream& out;
  void operator()(const Tick&) const { out << "tick"; }
  void operator()(const CheckIn& c) const {
    out << (c.buffered ? "buffered " : "check-in ") << c.controller.value;
    if (c.seq) out << " seq " << *c.seq;
    if (c.uptime_s) out << " up " << *c.uptime_s;
    if (c.power != Power::unknown) out << (c.power == Power::mains ? " mains" : " battery");
  }
  void operator()(const UplinkResult& u) const {
    out << "uplink " << u.reference.value << (u.answered ? " yes" : " no");
  }
  void operator()(const BrokerLink& b) const {
    out << "broker " << (b.answers ? "answers" : "silent");
  }
  void operator()(const WatcherStarted&) const { out << "started"; }
  void operator()(const WatcherStopped&) const { out << "stopped"; }
  void operator()(const ClockJump&) const { out << "jump"; }
  void operator()(const WitnessWord& w) const {
    out << "witness " << w.witness.value << " heard " << w.controller.value << " age "
        << w.age->seconds();
  }
  void operator()(const WitnessReachable& w) const {
    out << "witness " << w.witness.value << (w.reachable ? " reachable" : " gone");
  }
  void operator()(const WitnessesHeardOut&) const { out << "heard out"; }
  void operator()(const Acknowledge&) const { out << "acknowledge"; }
  void operator()(const Shelve&) const { out << "shelve"; }
  void operator()(const Unshelve&) const { out << "unshelve"; }
};

std::string events_of(const std::string& rows, std::uint64_t* passed_over = nullptr) {
  const Files files;
  auto reader = TraceReader::open(files.plain(trace_header + rows));
  REQUIRE(reader.ok());
  TraceEvents translate(plan());
  TraceRow row;
  std::vector<Event> events;
  while (reader.value().next(row).value()) translate.add(row, events);
  std::ostringstream out;
  for (const Event& event : events) {
    out << event.at.seconds() << " ";
    std::visit(Describe{out}, event.what);
    out << "\n";
  }
  if (passed_over != nullptr) *passed_over = translate.passed_over();
  return out.str();
}

}  // namespace

TEST_CASE("trace events: own rows become what the daemon would have seen") {
  CHECK(events_of("0,harbour,start,,,,,\n"
                  "1,harbour,check-in,reef,,7,420,mains\n"
                  "2,harbour,buffered,lagoon,,,,battery\n"
                  "3,harbour,uplink,portal,0,,,\n"
                  "4,harbour,uplink,resolver,1,,,\n"
                  "5,harbour,stop,,,,,\n") ==
        "0 started\n"
        "1 check-in 1 seq 7 up 420 mains\n"
        "2 buffered 0 battery\n"
        "3 uplink 1 no\n"
        "4 uplink 0 yes\n"
        "5 stopped\n");
}

TEST_CASE("trace events: unknown controllers and references only say that the watcher runs") {
  std::uint64_t passed_over = 0;
  CHECK(events_of("1,harbour,check-in,pond,,7,420,mains\n"
                  "2,harbour,uplink,other,1,,,\n"
                  "3,stranger,check-in,reef,,1,1,\n",
                  &passed_over) == "1 tick\n2 tick\n");
  CHECK(passed_over == 3);
}

TEST_CASE("trace events: a witness is reachable from its first row and speaks with age 0") {
  CHECK(events_of("0,breakwater,start,,,,,\n"
                  "1,breakwater,check-in,reef,,7,420,mains\n"
                  "2,breakwater,buffered,lagoon,,8,,\n") ==
        "0 witness 0 reachable\n"
        "1 witness 0 heard 1 age 0\n");
}

TEST_CASE("trace events: a stale copy is no contact for the witness either") {
  CHECK(events_of("0,breakwater,check-in,reef,,7,420,\n"
                  "60,breakwater,check-in,reef,,8,480,\n"
                  "61,breakwater,check-in,reef,,7,420,\n"
                  "70,breakwater,check-in,reef,,0,5,\n") ==
        "0 witness 0 reachable\n"
        "0 witness 0 heard 1 age 0\n"
        "60 witness 0 heard 1 age 0\n"
        "70 witness 0 heard 1 age 0\n");  // It restarted: a new count.
}

TEST_CASE("trace events: a witness that stops or loses its own link is not asked") {
  CHECK(events_of("0,breakwater,start,,,,,\n"
                  "1,breakwater,uplink,resolver,1,,,\n"
                  "2,breakwater,uplink,resolver,0,,,\n"
                  "3,breakwater,uplink,resolver,1,,,\n"
                  "4,breakwater,stop,,,,,\n"
                  "9,breakwater,start,,,,,\n") ==
        "0 witness 0 reachable\n"
        "2 witness 0 gone\n"
        "3 witness 0 reachable\n"
        "4 witness 0 gone\n"
        "9 witness 0 reachable\n");
}

TEST_CASE("trace events: one reference of two is enough for a quorum of one") {
  CHECK(events_of("0,breakwater,uplink,resolver,1,,,\n"
                  "0,breakwater,uplink,portal,0,,,\n"
                  "30,breakwater,uplink,resolver,0,,,\n"
                  "30,breakwater,uplink,portal,0,,,\n") ==
        "0 witness 0 reachable\n"
        "30 witness 0 gone\n");
}

TEST_CASE("trace events: a witness without uplink rows for three rounds was not running") {
  // The last sign is at 30 s; 3 x 30 s later it is gone, told before the row at 200 s.
  CHECK(events_of("0,breakwater,uplink,resolver,1,,,\n"
                  "30,breakwater,uplink,resolver,1,,,\n"
                  "120,harbour,check-in,reef,,,,\n"
                  "200,harbour,check-in,reef,,,,\n"
                  "210,breakwater,check-in,lagoon,,,,\n"
                  "220,breakwater,uplink,resolver,1,,,\n") ==
        "0 witness 0 reachable\n"
        "120 check-in 1\n"
        "120 witness 0 gone\n"
        "200 check-in 1\n"
        "210 witness 0 heard 0 age 0\n"
        "220 witness 0 reachable\n");
}

TEST_CASE("trace events: the events of a part are the first part of the events of the whole") {
  std::vector<std::string> rows;
  for (int i = 0; i < 400; ++i) {
    const std::string t = std::to_string(i * 7);
    if (i % 40 < 25) rows.push_back(t + ",breakwater,uplink,resolver,1,,,\n");
    rows.push_back(t + ",harbour,check-in,reef,," + std::to_string(i) + ",,\n");
    if (i % 3 == 0)
      rows.push_back(t + ",breakwater,check-in,lagoon,," + std::to_string(i) + ",,\n");
  }
  std::string whole;
  for (const auto& row : rows) whole += row;
  const std::string all = events_of(whole);
  std::string part;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    part += rows[i];
    if (i % 37 == 0) CHECK(all.starts_with(events_of(part)));
  }
}
