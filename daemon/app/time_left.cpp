#include "app/time_left.h"

#include <algorithm>
#include <optional>

#include "settings/plan.h"
#include "timeleft/estimate.h"
#include "words/speech.h"

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

const TankSettings* tank_settings(const Settings& settings, const WatchPlan& plan, TankIndex tank,
                                  const SiteSettings*& site) {
  site = site_of(settings, plan.sites[plan.tanks[tank.value].site.value].id);
  if (site == nullptr) return nullptr;
  for (const TankSettings& one : site->tanks) {
    if (one.id == plan.tanks[tank.value].id) return &one;
  }
  return nullptr;
}

/// When the tank's clocks began to run, as far as that is known.
PowerKnown power_of(const Watch& watch, TankIndex tank, Instant& from) {
  bool battery = false;
  const OutageRecord* outage = nullptr;
  for (const ControllerIndex c : watch.plan().tanks[tank.value].controllers) {
    const ControllerRecord record = watch.record(c);
    if (!record.last_heard.is_never() && record.last_power == Power::battery) {
      battery = true;
      from = record.last_power_at;
    }
    if (outage == nullptr) outage = watch.outage_of(c);
  }
  if (outage != nullptr) from = outage->since;
  if (battery) return PowerKnown::out;
  return outage != nullptr ? PowerKnown::silent : PowerKnown::on;
}

}  // namespace

double shorter_low_h(const TimeLeft& left) {
  double low_h = never_h;
  for (const TankClock* clock : {&left.oxygen, &left.temperature}) {
    if (clock->range) low_h = std::min(low_h, clock->range->low_h);
  }
  return low_h;
}

TankTimeLeft time_left_now(const Settings& settings, const Watch& watch, TankIndex tank,
                           const std::vector<LastHeard>& heard, const Clock& clock) {
  TankTimeLeft out;
  const SiteSettings* site = nullptr;
  const TankSettings* found = tank_settings(settings, watch.plan(), tank, site);
  if (found == nullptr) return out;
  Instant from = clock.now();
  out.power = power_of(watch, tank, from);
  out.left = estimate_time_left(tank_facts(*site, *found), readings_of(*found, heard),
                                clock.to_wall(from), {});
  return out;
}

std::string time_left_of(const Settings& settings, const WatchPlan& plan, Subject subject,
                         const std::vector<LastHeard>& heard, WallTime since, Language language) {
  const std::vector<TankIndex> tanks = tanks_of(plan, subject);
  std::string line;
  double shortest_h = never_h;
  for (const TankIndex index : tanks) {
    const SiteSettings* site = nullptr;
    const TankSettings* found = tank_settings(settings, plan, index, site);
    if (found == nullptr) continue;
    const TankSettings& tank = *found;
    const TimeLeft left =
        estimate_time_left(tank_facts(*site, tank), readings_of(tank, heard), since, {});
    const std::string words = time_left_line(left, since, language);
    const double low_h = shorter_low_h(left);
    if (words.empty() || (!line.empty() && low_h >= shortest_h)) continue;
    shortest_h = low_h;
    const std::string& name = tank.name.empty() ? tank.id : tank.name;
    line = tanks.size() == 1
               ? words
               : fill(phrase(language, Phrase::clock_of_tank), {{"name", name}, {"clocks", words}});
  }
  return line;
}

}  // namespace ebbwatch
