#include "notices/made_up_loss.h"

#include <vector>

#include "core/invariant.h"
#include "core/watch.h"
#include "settings/plan.h"

namespace ebbwatch {
namespace {

constexpr Span interval = Span::of_min(1);
constexpr int minutes_heard = 30, minutes_silent_max = 60;
constexpr ControllerIndex silent{0}, heard{1};

TankSettings made_up_tank(const std::string& id, const std::string& name,
                          const std::string& controller) {
  TankSettings tank;
  tank.id = id;
  tank.name = name;
  ControllerSettings only;
  only.id = only.name = controller;
  only.interval = interval;
  tank.controllers = {only};
  return tank;
}

Settings made_up_settings(const Settings& real, const SiteSettings& at) {
  Settings made;
  made.watcher.name = real.watcher.name;
  made.watcher.uplink_quorum = 0;
  SiteSettings site;
  site.id = at.id;
  site.name = at.name;
  site.call_list = at.call_list;
  // The second tank stays in contact, so that the loss is one of a tank and not of the site.
  site.tanks = {made_up_tank("practice-tank", "Practice tank", "practice-controller"),
                made_up_tank("practice-tank-2", "Practice tank 2", "practice-controller-2")};
  made.sites = {site};
  return made;
}

// What the core decides about an hour and a half of check-ins, on an axis that begins at 0.
Decision decided(const WatchPlan& plan, OutageId number) {
  WatchState state;
  state.next_outage = number;
  Watch watch(plan, Instant{}, state);
  std::vector<Decision> decisions;
  watch.on({Instant{}, WatcherStarted{}}, decisions);
  for (int minute = 1; minute <= minutes_heard + minutes_silent_max; ++minute) {
    const Instant at = Instant{} + interval * minute;
    CheckIn check_in;
    check_in.seq = static_cast<std::uint64_t>(minute);
    check_in.controller = heard;
    watch.on({at, check_in}, decisions);
    check_in.controller = silent;
    if (minute <= minutes_heard) watch.on({at, check_in}, decisions);
    for (const Decision& one : decisions) {
      if (one.kind == DecisionKind::loss) return one;
    }
    decisions.clear();
  }
  constexpr bool silence_was_found = false;
  INVARIANT(silence_was_found);
  return {};
}

}  // namespace

MadeUpLoss make_up_loss(const Settings& settings, const SiteSettings& site, OutageId number,
                        WallTime decided_at) {
  MadeUpLoss made;
  made.settings = made_up_settings(settings, site);
  made.plan = make_plan(made.settings);
  made.decision = decided(made.plan, number);
  const Span shift = Span::of_us(decided_at.us - made.decision.at.us);
  made.decision.at = made.decision.at + shift;
  made.decision.since = made.decision.since + shift;
  for (std::size_t i = 0; i < made.decision.evidence.size(); ++i) {
    Evidence& fact = made.decision.evidence[i];
    fact.at = fact.at + shift;
  }
  return made;
}

}  // namespace ebbwatch
