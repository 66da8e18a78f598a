#include "app/time_left.h"

#include <algorithm>
#include <optional>

#include "settings/plan.h"
#include "timeleft/estimate.h"

namespace ebbwatch {
namespace {

std::vector<TankIndex> tanks_of(const WatchPlan& plan, Subject subject) {
  if (subject.scope == Scope::tank) return {TankIndex{subject.index}};
  if (subject.scope == Scope::controller) return {plan.controllers[subject.index].tank};
  if (subject.scope == Scope::site) return plan.sites[subject.index].tanks;
  return {};
}

TankReadings readings_of(const TankSettings& tank, const std::vector<LastHeard>& heard) {
  TankReadings readings;
  for (const LastHeard& one : heard) {
    const auto sent = [&one](const ControllerSettings& c) { return c.id == one.controller; };
    if (std::any_of(tank.controllers.begin(), tank.controllers.end(), sent)) {
      take_newer(readings, read_readings(one.at, one.readings_json));
    }
  }
  return readings;
}

double shorter_low_h(const TimeLeft& left) {
  double low_h = never_h;
  for (const TankClock* clock : {&left.oxygen, &left.temperature}) {
    if (clock->range) low_h = std::min(low_h, clock->range->low_h);
  }
  return low_h;
}

}  // namespace

std::string time_left_of(const Settings& settings, const WatchPlan& plan, Subject subject,
                         const std::vector<LastHeard>& heard, WallTime since) {
  const std::vector<TankIndex> tanks = tanks_of(plan, subject);
  std::string line;
  double shortest_h = never_h;
  for (const TankIndex index : tanks) {
    const SiteSettings* site = site_of(settings, plan.sites[plan.tanks[index.value].site.value].id);
    if (site == nullptr) continue;
    for (const TankSettings& tank : site->tanks) {
      if (tank.id != plan.tanks[index.value].id) continue;
      const TimeLeft left =
          estimate_time_left(tank_facts(*site, tank), readings_of(tank, heard), since, {});
      const std::string words = time_left_line(left, since);
      const double low_h = shorter_low_h(left);
      if (words.empty() || (!line.empty() && low_h >= shortest_h)) continue;
      shortest_h = low_h;
      line = (tanks.size() > 1 ? (tank.name.empty() ? tank.id : tank.name) + ": " : "") + words;
    }
  }
  return line;
}

}  // namespace ebbwatch
