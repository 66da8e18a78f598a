#include "unit/core/scene.h"

#include <cmath>
#include <stdexcept>
#include <utility>

namespace ebbwatch::test {
namespace {

std::uint32_t group_of(std::vector<GroupPlan>& groups, const std::string& id, SiteIndex site) {
  for (std::uint32_t i = 0; i < groups.size(); ++i) {
    if (groups[i].id != id) continue;
    groups[i].sites.push_back(site);
    return i;
  }
  groups.push_back({id, {site}});
  return static_cast<std::uint32_t>(groups.size() - 1);
}

}  // namespace

Plan::Plan() {
  plan.watcher = "harbour";
}

Plan& Plan::site(const std::string& id, const std::string& area, const std::string& provider) {
  const SiteIndex index{static_cast<std::uint32_t>(plan.sites.size())};
  SitePlan site;
  site.id = id;
  site.detection = detection;
  if (!area.empty()) site.area = AreaIndex{group_of(plan.areas, area, index)};
  if (!provider.empty()) site.provider = ProviderIndex{group_of(plan.providers, provider, index)};
  plan.sites.push_back(site);
  return *this;
}

Plan& Plan::own_site(const std::string& id) {
  site(id);
  plan.sites.back().is_watchers_own = true;
  return *this;
}

Plan& Plan::tank(const std::string& id) {
  TankPlan tank;
  tank.id = id;
  tank.site = SiteIndex{static_cast<std::uint32_t>(plan.sites.size() - 1)};
  tank.detection = detection;
  plan.sites.back().tanks.push_back(TankIndex{static_cast<std::uint32_t>(plan.tanks.size())});
  plan.tanks.push_back(tank);
  return *this;
}

Plan& Plan::controller(const std::string& id, double interval_s, Supply supply) {
  ControllerPlan controller;
  controller.id = id;
  controller.tank = TankIndex{static_cast<std::uint32_t>(plan.tanks.size() - 1)};
  controller.interval = Span::of_seconds(interval_s);
  controller.supply = supply;
  controller.detection = detection;
  plan.tanks.back().controllers.push_back(
      ControllerIndex{static_cast<std::uint32_t>(plan.controllers.size())});
  plan.controllers.push_back(controller);
  return *this;
}

Plan& Plan::uplink(std::uint32_t quorum, std::vector<std::string> references, double every_s) {
  plan.uplink_quorum = quorum;
  plan.uplink_references = std::move(references);
  plan.uplink_every = Span::of_seconds(every_s);
  return *this;
}

Plan& Plan::witness(const std::string& name) {
  plan.witnesses.push_back(name);
  return *this;
}

Scene::Scene(WatchPlan plan) : watch(std::move(plan), Instant{}) {}
Scene::Scene(WatchPlan plan, double now_s, const WatchState& state)
    : watch(std::move(plan), Instant::of_seconds(now_s), state) {}

void Scene::feed(double at_s, decltype(Event::what) what) {
  watch.on(Event{Instant::of_seconds(at_s), std::move(what)}, decisions_);
}

ControllerIndex Scene::index(const std::string& id) const {
  const auto& all = watch.plan().controllers;
  for (std::uint32_t i = 0; i < all.size(); ++i) {
    if (all[i].id == id) return ControllerIndex{i};
  }
  throw std::invalid_argument("no controller " + id);
}

void Scene::hear(double at_s, const std::string& id, Power power) {
  CheckIn check_in;
  check_in.controller = index(id);
  check_in.power = power;
  feed(at_s, check_in);
}

void Scene::hear(double at_s, const std::string& id, std::uint64_t seq, double uptime_s,
                 Power power) {
  CheckIn check_in;
  check_in.controller = index(id);
  check_in.seq = seq;
  check_in.uptime_s = uptime_s;
  check_in.power = power;
  feed(at_s, check_in);
}

void Scene::hear_all(const std::vector<std::string>& ids, double from_s, double to_s,
                     double every_s) {
  for (double t = from_s; t < to_s - 1e-9; t += every_s) {
    for (std::size_t i = 0; i < ids.size(); ++i) hear(t + 0.001 * static_cast<double>(i), ids[i]);
  }
}

void Scene::tick(double from_s, double to_s) {
  for (double t = from_s; t <= to_s; t += 1) feed(t, Tick{});
}

std::string Scene::told() {
  std::string out;
  for (; told_ < decisions_.size(); ++told_) {
    const Decision& it = decisions_[told_];
    if (!out.empty()) out += "\n";
    out += std::to_string(std::llround(it.at.seconds())) + " " + word(it.kind) + " " +
           word(it.subject.scope) + " " + subject_id(watch.plan(), it.subject) + " " +
           word(it.cause);
  }
  return out;
}

}  // namespace ebbwatch::test
