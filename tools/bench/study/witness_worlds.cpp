#include "study/witness_worlds.h"

#include <algorithm>
#include <random>

#include "core/watch.h"
#include "trace/trace_events.h"

namespace ebbwatch::bench {
namespace {

constexpr const char* watcher_names[world_watchers] = {"harbour", "breakwater", "pier"};
constexpr const char* reference = "resolver";
constexpr int interval_s = 60;
constexpr int uplink_every_s = 30;

template <class Spells>
bool any(const Spells& spells, double at) {
  return std::any_of(spells.begin(), spells.end(), [&](const auto& it) { return it.holds(at); });
}

/// Mixes well enough that neighbours have nothing in common (splitmix64, public domain).
std::uint64_t mixed(std::uint64_t x) {
  x += 0x9e3779b97f4a7c15U;
  x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9U;
  x = (x ^ (x >> 27)) * 0x94d049bb133111ebU;
  return x ^ (x >> 31);
}

}  // namespace

WitnessWorld::WitnessWorld(std::uint64_t seed, WorldRules rules) : seed_(seed), rules_(rules) {
  for (std::uint32_t i = 0; i < rules.sites; ++i) sites_.push_back("site-" + std::to_string(i));
  invent(seed);
}

void WitnessWorld::invent(std::uint64_t seed) {
  std::mt19937_64 dice(seed);
  const auto pick = [&](std::uint64_t below) { return static_cast<std::size_t>(dice() % below); };
  const auto between = [&](double least, double most) {
    return std::uniform_real_distribution<>(least, most)(dice);
  };
  const auto each = [&](const Faults& faults, const auto& add) {
    std::poisson_distribution<int> count(faults.a_day * rules_.days);
    for (int n = count(dice); n > 0; --n) {
      const double from = between(3600, length_s() - faults.most_s - 3600);
      add(Spell{from, from + between(faults.least_s, faults.most_s)});
    }
  };
  outages_.resize(rules_.sites);
  paths_.assign(world_watchers, std::vector<Spells>(rules_.sites));
  links_.resize(world_watchers);
  stops_.resize(world_watchers);
  each(rules_.outage, [&](Spell it) {
    Spells& known = outages_[pick(rules_.sites)];
    // Two that touch would be one to everybody.
    const bool apart = std::none_of(known.begin(), known.end(), [&](const Spell& other) {
      return it.from_s < other.to_s + 3600 && other.from_s < it.to_s + 3600;
    });
    if (apart) known.push_back(it);
  });
  each(rules_.path, [&](Spell it) {
    auto& of_watcher = paths_[pick(world_watchers)];
    for (std::size_t n = 1 + pick(3); n > 0; --n) of_watcher[pick(rules_.sites)].push_back(it);
  });
  each(rules_.link, [&](Spell it) { links_[pick(world_watchers)].push_back(it); });
  each(rules_.stop, [&](Spell it) { stops_[pick(world_watchers)].push_back(it); });
}

bool WitnessWorld::loses(std::uint64_t watcher, std::uint64_t site, std::uint64_t minute) const {
  const std::uint64_t chance = mixed(mixed(mixed(seed_ ^ watcher) + site) + minute);
  return static_cast<double>(chance >> 11) * 0x1p-53 < rules_.lost;
}

void WitnessWorld::rows_of_second(double at, std::vector<std::size_t>& started,
                                  const std::function<void(const TraceRow&)>& visit) const {
  const auto second = static_cast<std::int64_t>(at);
  for (std::size_t w = 0; w < world_watchers; ++w) {
    TraceRow row;
    row.at = Instant::of_seconds(at);
    row.watcher = watcher_names[w];
    if (any(stops_[w], at)) {
      started[w] = 0;
      continue;
    }
    if (started[w] == 0) {
      started[w] = 1;
      row.kind = TraceKind::start;
      visit(row);
    }
    const bool linked = !any(links_[w], at);
    if (second % uplink_every_s == static_cast<std::int64_t>(w)) {
      row.kind = TraceKind::uplink;
      row.subject = reference;
      row.answered = linked;
      visit(row);
    }
    if (!linked) continue;
    row.kind = TraceKind::check_in;
    row.answered = false;
    for (std::size_t s = 0; s < sites_.size(); ++s) {
      const auto phase = static_cast<std::int64_t>(mixed(seed_ + s) % interval_s);
      if (second % interval_s != phase || any(outages_[s], at) || any(paths_[w][s], at)) continue;
      const auto minute = static_cast<std::uint64_t>(second / interval_s);
      if (loses(w, s, minute)) continue;
      row.subject = sites_[s];
      row.seq = minute;
      visit(row);
    }
  }
}

void WitnessWorld::for_each_row(const std::function<void(const TraceRow&)>& visit) const {
  std::vector<std::size_t> started(world_watchers, 0);
  for (double at = 0; at < length_s(); at += 1) rows_of_second(at, started, visit);
}

std::vector<TruthRow> WitnessWorld::truth() const {
  std::vector<TruthRow> rows;
  for (std::size_t s = 0; s < sites_.size(); ++s) {
    for (const Spell& it : outages_[s]) {
      rows.push_back(
          {it.from_s, it.to_s, Scope::site, sites_[s], "undetermined", TruthRow::Kind::outage});
    }
  }
  for (const Spells& of : {links_[0], stops_[0]}) {
    for (const Spell& it : of) {
      rows.push_back({it.from_s, it.to_s, Scope::watcher, watcher_names[0], "watcher_uplink",
                      TruthRow::Kind::watcher});
    }
  }
  return rows;
}

WatchPlan WitnessWorld::plan(int witnesses) const {
  WatchPlan plan;
  plan.watcher = watcher_names[0];
  for (std::uint32_t i = 0; i < rules_.sites; ++i) {
    ControllerPlan controller;
    controller.id = sites_[i];
    controller.tank = TankIndex{i};
    controller.interval = Span::of_s(interval_s);
    plan.controllers.push_back(controller);
    TankPlan tank;
    tank.id = sites_[i];
    tank.site = SiteIndex{i};
    tank.controllers = {ControllerIndex{i}};
    plan.tanks.push_back(tank);
    SitePlan site;
    site.id = sites_[i];
    site.tanks = {TankIndex{i}};
    plan.sites.push_back(site);
  }
  plan.uplink_references = {reference};
  plan.uplink_quorum = 1;
  plan.uplink_every = Span::of_s(uplink_every_s);
  for (int i = 1; i <= witnesses; ++i) plan.witnesses.push_back(watcher_names[i]);
  return plan;
}

ReplaySummary replay_world(const WitnessWorld& world, int witnesses) {
  const WatchPlan plan = world.plan(witnesses);
  Watch watch(plan, Instant{});
  TraceEvents translate(plan);
  DecisionLog log;
  std::vector<Event> events;
  std::vector<Decision> decisions;
  world.for_each_row([&](const TraceRow& row) {
    events.clear();
    translate.add(row, events);
    for (const Event& event : events) watch.on(event, decisions);
    for (const Decision& decision : decisions) log.add(decision);
    decisions.clear();
  });
  const std::vector<TruthRow> truth = world.truth();
  return summarize(plan, log, &truth, world.length_s());
}

}  // namespace ebbwatch::bench
