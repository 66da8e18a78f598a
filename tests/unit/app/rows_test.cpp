#include "app/rows.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

namespace {

class FixedClock final : public Clock {
 public:
  Instant now() const override { return now_; }
  WallTime wall_now() const override { return wall_; }
  Instant now_{5'000'000'000};
  WallTime wall_{1'700'000'000'000'000};
};

/// Two sites of one tank with one controller each, in the given order.
WatchPlan plan_of(const std::vector<std::string>& names) {
  WatchPlan plan;
  plan.watcher = "pier";
  for (std::uint32_t i = 0; i < names.size(); ++i) {
    ControllerPlan controller;
    controller.id = names[i] + "-main";
    controller.tank = {i};
    controller.interval = Span::of_min(1);
    plan.controllers.push_back(controller);
    TankPlan tank;
    tank.id = names[i] + "-tank";
    tank.site = {i};
    tank.controllers = {{i}};
    plan.tanks.push_back(tank);
    SitePlan site;
    site.id = names[i];
    site.tanks = {{i}};
    plan.sites.push_back(site);
  }
  return plan;
}

WatchState some_state() {
  WatchState state;
  state.next_outage = 8;
  ControllerRecord record;
  record.controller = {1};
  record.contact = Contact::silent;
  record.last_heard = Instant{4'000'000'000};
  record.contact_since = Instant{4'500'000'000};
  record.interval = Span::of_s(59);
  record.last_seq = 17;
  record.last_uptime_s = 1020.5;
  record.last_power = Power::battery;
  record.last_power_at = Instant{3'900'000'000};
  record.outage = 7;
  state.controllers.push_back(record);
  OutageRecord outage;
  outage.id = 7;
  outage.subject = {Scope::site, 1};
  outage.since = Instant{4'000'000'000};
  outage.confirmed_at = Instant{4'400'000'000};
  outage.cause = Cause::mains_power;
  outage.confidence = 0.75;
  outage.alarm = AlarmState::acknowledged;
  state.outages.push_back(outage);
  return state;
}

StoredState stored(const WatchState& state, const WatchPlan& plan, const Clock& clock) {
  StoredState out;
  out.next_outage = state.next_outage;
  for (const auto& record : state.controllers)
    out.controllers.push_back(to_row(record, plan, clock));
  for (const auto& record : state.outages) out.outages.push_back(to_row(record, plan, clock));
  return out;
}

void check_is_oak(const WatchState& state, std::uint32_t position) {
  REQUIRE(state.controllers.size() == 1);
  const auto& record = state.controllers[0];
  CHECK(record.controller.value == position);
  CHECK(record.contact == Contact::silent);
  CHECK(record.last_heard == Instant{4'000'000'000});
  CHECK(record.last_seq == 17);
  CHECK(record.last_uptime_s == 1020.5);
  CHECK(record.last_power == Power::battery);
  CHECK(record.outage == 7);
  REQUIRE(state.outages.size() == 1);
  CHECK(state.outages[0].subject == Subject{Scope::site, position});
  CHECK(state.outages[0].cause == Cause::mains_power);
  CHECK(state.outages[0].alarm == AlarmState::acknowledged);
  CHECK(state.next_outage == 8);
}

}  // namespace

TEST_CASE("rows: what is stored comes back the same") {
  const FixedClock clock;
  const WatchPlan plan = plan_of({"elm", "oak"});
  check_is_oak(to_state(stored(some_state(), plan, clock), plan, clock), 1);
}

TEST_CASE("rows: positions follow the identifiers when the file was rearranged") {
  const FixedClock clock;
  const auto rows = stored(some_state(), plan_of({"elm", "oak"}), clock);
  check_is_oak(to_state(rows, plan_of({"oak", "ash", "elm"}), clock), 0);
  check_is_oak(carry_over(some_state(), plan_of({"elm", "oak"}), plan_of({"ash", "elm", "oak"})),
               2);
}

TEST_CASE("rows: what the configuration no longer has is left out") {
  const FixedClock clock;
  const WatchPlan without = plan_of({"elm", "ash"});
  const auto rows = stored(some_state(), plan_of({"elm", "oak"}), clock);
  for (const auto& state : {to_state(rows, without, clock),
                            carry_over(some_state(), plan_of({"elm", "oak"}), without)}) {
    CHECK(state.controllers.empty());
    CHECK(state.outages.empty());
    CHECK(state.next_outage == 8);
  }
}

TEST_CASE("rows: a stored time in the future becomes now") {
  FixedClock clock;
  const WatchPlan plan = plan_of({"elm", "oak"});
  const auto rows = stored(some_state(), plan, clock);
  clock.wall_ = clock.wall_ - Span::of_days(1);
  const auto state = to_state(rows, plan, clock);
  CHECK(state.controllers[0].last_heard == clock.now());
  CHECK(state.outages[0].since == clock.now());
}

TEST_CASE("rows: words of a later version fall back to something safe") {
  const FixedClock clock;
  const WatchPlan plan = plan_of({"elm", "oak"});
  auto rows = stored(some_state(), plan, clock);
  rows.controllers[0].contact = "ascending";
  rows.outages[0].cause = "flood";
  rows.outages[0].alarm = "sung";
  const auto state = to_state(rows, plan, clock);
  CHECK(state.controllers[0].contact == Contact::present);
  CHECK(state.outages[0].cause == Cause::undetermined);
  CHECK(state.outages[0].alarm == AlarmState::unacknowledged);
}
