#include "settings/plan.h"

#include <algorithm>

namespace ebbwatch {
namespace {

// The position of a group, added when it is new.
std::uint32_t group_position(std::vector<GroupPlan>& groups, const std::string& id,
                             SiteIndex site) {
  auto found = std::find_if(groups.begin(), groups.end(),
                            [&](const GroupPlan& group) { return group.id == id; });
  if (found == groups.end()) found = groups.insert(groups.end(), GroupPlan{id, {}});
  found->sites.push_back(site);
  return static_cast<std::uint32_t>(found - groups.begin());
}

template <class Index, class Items>
Index next_index(const Items& items) {
  return {static_cast<std::uint32_t>(items.size())};
}

void add_tank(WatchPlan& plan, const TankSettings& settings, SiteIndex site,
              const Detection& above) {
  const auto tank_index = next_index<TankIndex>(plan.tanks);
  TankPlan tank{settings.id, site, {}, apply(above, settings.detection), settings.name};
  for (const ControllerSettings& controller : settings.controllers) {
    tank.controllers.push_back(next_index<ControllerIndex>(plan.controllers));
    plan.controllers.push_back({controller.id, tank_index, controller.interval, controller.supply,
                                apply(tank.detection, controller.detection), controller.name});
  }
  plan.sites[site.value].tanks.push_back(tank_index);
  plan.tanks.push_back(std::move(tank));
}

void add_site(WatchPlan& plan, const Settings& settings, const SiteSettings& site_settings) {
  const auto index = next_index<SiteIndex>(plan.sites);
  SitePlan site;
  site.id = site_settings.id;
  site.name = site_settings.name;
  if (site_settings.area) site.area = {group_position(plan.areas, *site_settings.area, index)};
  if (site_settings.provider) {
    site.provider = {group_position(plan.providers, *site_settings.provider, index)};
  }
  site.is_watchers_own = settings.watcher.site == site_settings.id;
  site.detection = apply(settings.detection, site_settings.detection);
  const Detection detection = site.detection;
  plan.sites.push_back(std::move(site));
  for (const TankSettings& tank : site_settings.tanks) add_tank(plan, tank, index, detection);
}

}  // namespace

WatchPlan make_plan(const Settings& settings) {
  WatchPlan plan;
  plan.watcher = settings.watcher.name;
  for (const SiteSettings& site : settings.sites) add_site(plan, settings, site);
  for (const UplinkReference& reference : settings.watcher.uplink_references) {
    plan.uplink_references.push_back(reference.name);
  }
  plan.uplink_quorum = settings.watcher.uplink_quorum;
  plan.uplink_every = settings.watcher.uplink_every;
  for (const WitnessSettings& witness : settings.witnesses) plan.witnesses.push_back(witness.name);
  plan.witness_limit = settings.watcher.witness_limit;
  return plan;
}

std::string watched_id(std::string_view witness) {
  return "watcher-" + std::string(witness);
}

void add_watched_witnesses(Settings& settings) {
  for (const WitnessSettings& witness : settings.witnesses) {
    SiteSettings site;
    site.is_watcher = true;
    site.id = watched_id(witness.name);
    site.name = "Watcher " + witness.name;
    site.call_list = witness.call_list ? witness.call_list : settings.watcher.call_list;
    TankSettings tank;
    tank.id = site.id;
    tank.name = site.name;
    ControllerSettings controller;
    controller.id = site.id;
    controller.name = site.name;
    controller.interval = settings.watcher.witness_every;
    // Everybody but the lost one may tell; all of them go by the same order.
    site.tells_first.push_back(settings.watcher.name);
    for (const WitnessSettings& other : settings.witnesses) {
      if (other.name != witness.name) site.tells_first.push_back(other.name);
    }
    std::sort(site.tells_first.begin(), site.tells_first.end());
    tank.controllers.push_back(std::move(controller));
    site.tanks.push_back(std::move(tank));
    settings.sites.push_back(std::move(site));
  }
}

std::optional<ControllerIndex> find_controller(const WatchPlan& plan, std::string_view id) {
  for (std::size_t i = 0; i < plan.controllers.size(); ++i) {
    if (plan.controllers[i].id == id) return ControllerIndex{static_cast<std::uint32_t>(i)};
  }
  return std::nullopt;
}

const SiteSettings* site_of(const Settings& settings, std::string_view site) {
  for (const SiteSettings& candidate : settings.sites) {
    if (candidate.id == site) return &candidate;
  }
  return nullptr;
}

std::string subject_name(const Settings&, const WatchPlan& plan, Subject subject) {
  const std::string& name = subject_name(plan, subject);
  if (subject.scope == Scope::area) return "area " + name;
  if (subject.scope == Scope::provider) return "provider " + name;
  return subject.scope == Scope::watcher ? "watcher " + name : name;
}

std::optional<SiteIndex> site_of(const WatchPlan& plan, Subject subject) {
  switch (subject.scope) {
    case Scope::controller:
      return plan.tanks[plan.controllers[subject.index].tank.value].site;
    case Scope::tank:
      return plan.tanks[subject.index].site;
    case Scope::site:
      return SiteIndex{subject.index};
    case Scope::area:
    case Scope::provider:
    case Scope::watcher:
      break;
  }
  return std::nullopt;
}

}  // namespace ebbwatch
