#include "unit/core/world.h"

#include <algorithm>
#include <cmath>

#include "unit/core/scene.h"

namespace ebbwatch::test {
namespace {

constexpr double intervals[] = {15, 30, 60, 60, 90, 120, 120, 180, 300};

/// What a controller is like.
struct Nature {
  double interval_s = 60;
  double phase_s = 0;
  double jitter_s = 0;
  double boot_s = 40;
  bool has_seq = true;
  bool has_uptime = true;
  bool has_power = true;
  bool battery = false;
  double battery_lasts_s = 3600;
};

struct Down {
  double start_s = 0;
  double end_s = 0;
  bool off = false;    // not running: starts anew afterwards
  bool silent = true;  // cannot be heard
  bool on_battery = false;
};

class Maker {
 public:
  Maker(std::uint64_t seed, Options options) : draw_(seed), options_(options) {
    world_.seed = seed;
  }
  World make();

 private:
  void lay_out();
  void add_site(Plan& plan, std::uint32_t number);
  void plan_faults();
  void add_fault(double start_s, bool blip);
  void plan_blind();
  void strike(std::uint32_t fault);
  void strike_controller(std::uint32_t fault, std::uint32_t controller);
  void speak(std::uint32_t controller);
  void check_link();
  bool running(double t) const;
  bool link_up(double t) const;
  std::uint32_t site_of(std::uint32_t controller) const {
    return world_.plan.tanks[world_.plan.controllers[controller].tank.value].site.value;
  }

  Draw draw_;
  Options options_;
  World world_;
  std::vector<Nature> natures_;
  std::vector<std::vector<Down>> downs_;
  std::vector<double> router_boot_s_;
  std::vector<bool> router_battery_;
};

void Maker::add_site(Plan& plan, std::uint32_t number) {
  const std::string id = "s" + std::to_string(number);
  const char* areas[] = {"", "north", "south"};
  const char* providers[] = {"", "cable", "fibre"};
  plan.site(id, draw_.one_of(areas), draw_.one_of(providers));
  router_boot_s_.push_back(draw_.between(20, 90));
  router_battery_.push_back(draw_.chance(0.4));
  const std::uint32_t tanks = 1 + draw_.below(3);
  for (std::uint32_t t = 0; t < tanks; ++t) {
    plan.tank(id + "-t" + std::to_string(t));
    const std::uint32_t controllers = 1 + (draw_.chance(0.3) ? 1 : 0) + (draw_.chance(0.1) ? 1 : 0);
    for (std::uint32_t c = 0; c < controllers; ++c) {
      Nature nature;
      nature.interval_s = draw_.one_of(intervals);
      nature.phase_s = draw_.between(0, nature.interval_s);
      nature.jitter_s = draw_.between(0, nature.interval_s / 15);
      nature.boot_s = draw_.between(5, 60);
      nature.has_seq = draw_.chance(0.8);
      nature.has_uptime = nature.has_seq || draw_.chance(0.5);
      nature.has_power = draw_.chance(0.8);
      nature.battery = draw_.chance(0.3);
      nature.battery_lasts_s = draw_.between(1800, 20000);
      natures_.push_back(nature);
      plan.controller(id + "-t" + std::to_string(t) + "-c" + std::to_string(c), nature.interval_s,
                      nature.battery ? Supply::battery_backed : Supply::mains);
    }
  }
}

void Maker::lay_out() {
  Plan plan;
  if (draw_.chance(0.2)) plan.detection.quorum = {Quorum::Kind::majority, 0};
  if (draw_.chance(0.2)) plan.detection.on_delay = Span::of_min(5 + draw_.below(8));
  const std::uint32_t sites = 1 + draw_.below(5);
  for (std::uint32_t i = 0; i < sites; ++i) add_site(plan, i);
  const double every[] = {30, 60};
  if (draw_.chance(0.85)) plan.uplink(1, {"resolver"}, draw_.one_of(every));
  world_.plan = plan.plan;
  world_.length_s = draw_.between(4, 16) * 3600;
  world_.loss = options_.lossy ? draw_.between(0, 0.03) : 0;
  downs_.resize(natures_.size());
  world_.options = std::to_string(sites) + " sites, " + std::to_string(natures_.size()) +
                   " controllers, loss " + std::to_string(world_.loss);
}

void Maker::add_fault(double start_s, bool blip) {
  const WatchPlan& plan = world_.plan;
  Fault fault;
  fault.start_s = start_s;
  fault.blip = blip;
  const auto site = draw_.below(static_cast<std::uint32_t>(plan.sites.size()));
  const auto controller = draw_.below(static_cast<std::uint32_t>(plan.controllers.size()));
  const double what = draw_.share();
  if (what < 0.3) {
    fault.kind = FaultKind::mains;
    fault.subject = {Scope::site, site};
    if (draw_.chance(0.4) && !plan.areas.empty()) {
      fault.subject = {Scope::area, draw_.below(static_cast<std::uint32_t>(plan.areas.size()))};
    } else if (draw_.chance(0.2)) {
      fault.subject = {Scope::tank, plan.controllers[controller].tank.value};
    }
  } else if (what < 0.65) {
    fault.kind = FaultKind::link;
    fault.subject = {Scope::site, site};
    if (draw_.chance(0.25) && !plan.providers.empty()) {
      fault.subject = {Scope::provider,
                       draw_.below(static_cast<std::uint32_t>(plan.providers.size()))};
    }
  } else {
    fault.kind = draw_.chance(0.5) ? FaultKind::crash : FaultKind::radio;
    fault.subject = {Scope::controller, controller};
  }
  fault.end_s = start_s + (blip ? draw_.between(5, fault.kind == FaultKind::mains ? 45 : 100)
                                : draw_.between(2400, 9000));
  world_.faults.push_back(fault);
}

void Maker::plan_faults() {
  double t = draw_.between(3600, 5400);
  while (t < world_.length_s - 3600) {
    const bool blip = options_.blips && (!options_.faults || draw_.chance(0.6));
    if (options_.faults || options_.blips) add_fault(t, blip);
    const double spaced = world_.faults.empty() ? 0 : world_.faults.back().end_s - t;
    t += options_.apart ? spaced + draw_.between(4000, 8000) : draw_.between(600, 6000);
  }
}

void Maker::plan_blind() {
  if (!options_.blind || world_.plan.uplink_references.empty() || draw_.chance(0.4)) return;
  double t = draw_.between(1800, 7200);
  while (t < world_.length_s - 3600) {
    Blind blind;
    blind.start_s = t;
    blind.end_s = t + draw_.between(20, draw_.chance(0.5) ? 600 : 5000);
    blind.stopped = draw_.chance(0.4);
    blind.announced = blind.stopped && draw_.chance(0.5);
    world_.blind.push_back(blind);
    t = blind.end_s + draw_.between(1200, 9000);
  }
}

void Maker::strike_controller(std::uint32_t number, std::uint32_t controller) {
  const Fault& fault = world_.faults[number];
  const Nature& nature = natures_[controller];
  const std::uint32_t site = site_of(controller);
  const double router_s = router_battery_[site] ? 0 : router_boot_s_[site];
  auto& downs = downs_[controller];
  Down down{fault.start_s, fault.end_s, false, true, false};
  switch (fault.kind) {
    case FaultKind::link:
    case FaultKind::radio:
      break;
    case FaultKind::crash:
      down.off = true;
      down.end_s += nature.boot_s;
      break;
    case FaultKind::mains: {
      const bool breaker = fault.subject.scope == Scope::tank;
      if (!nature.battery) {
        down.off = true;
        down.end_s += std::max(nature.boot_s, breaker ? 0 : router_s);
        break;
      }
      const double dies = fault.start_s + nature.battery_lasts_s;
      if (dies < fault.end_s) {
        Down dead{dies, fault.end_s + std::max(nature.boot_s, breaker ? 0 : router_s), true, true,
                  false};
        downs.push_back(dead);
        world_.unheard.push_back({controller, dead.start_s, dead.end_s, number});
      }
      down.on_battery = true;
      down.silent = !breaker && !router_battery_[site];
      if (down.silent) down.end_s += router_s;
      break;
    }
  }
  downs.push_back(down);
  if (down.silent) world_.unheard.push_back({controller, down.start_s, down.end_s, number});
}

void Maker::strike(std::uint32_t number) {
  for (std::uint32_t i = 0; i < natures_.size(); ++i) {
    if (inside(world_.plan, i, world_.faults[number].subject)) strike_controller(number, i);
  }
}

bool Maker::running(double t) const {
  return std::none_of(world_.blind.begin(), world_.blind.end(), [t](const Blind& it) {
    return it.stopped && it.start_s <= t && t < it.end_s;
  });
}

bool Maker::link_up(double t) const {
  return std::none_of(world_.blind.begin(), world_.blind.end(), [t](const Blind& it) {
    return !it.stopped && it.start_s <= t && t < it.end_s;
  });
}

void Maker::speak(std::uint32_t index) {
  const Nature& nature = natures_[index];
  double started_s = -draw_.between(1000, 1e6);
  std::uint64_t seq = draw_.below(100000);
  bool was_off = false;
  double t = nature.phase_s;
  while (t < world_.length_s) {
    bool off = false;
    bool silent = false;
    bool battery = false;
    double back_s = t;
    for (const Down& down : downs_[index]) {
      if (t < down.start_s || t >= down.end_s) continue;
      off = off || down.off;
      silent = silent || down.silent;
      battery = battery || down.on_battery;
      if (down.off) back_s = std::max(back_s, down.end_s);
    }
    if (off) {
      was_off = true;
      t = back_s;
      continue;
    }
    if (was_off) {
      was_off = false;
      started_s = t - 1;
      seq = 0;
    }
    const double at = t + draw_.between(0, nature.jitter_s);
    const bool lost = draw_.chance(world_.loss);
    ++seq;
    if (!silent && !lost && running(at) && link_up(at)) {
      CheckIn check_in;
      check_in.controller = ControllerIndex{index};
      if (nature.has_seq) check_in.seq = seq;
      if (nature.has_uptime) check_in.uptime_s = std::floor(at - started_s);
      if (nature.has_power) check_in.power = battery ? Power::battery : Power::mains;
      world_.events.push_back({Instant::of_seconds(at), check_in});
      if (options_.lossy && draw_.chance(0.002)) {
        const double again = at + draw_.between(0, 20);
        if (running(again) && link_up(again)) {
          world_.events.push_back({Instant::of_seconds(again), check_in});
        }
      }
    }
    t += nature.interval_s;
  }
}

void Maker::check_link() {
  const double every = world_.plan.uplink_every.seconds();
  for (double t = draw_.between(0, every); t < world_.length_s; t += every) {
    if (!running(t) || world_.plan.uplink_references.empty()) continue;
    world_.events.push_back({Instant::of_seconds(t), UplinkResult{ReferenceIndex{0}, link_up(t)}});
  }
  for (const Blind& it : world_.blind) {
    if (!it.announced) continue;
    world_.events.push_back({Instant::of_seconds(it.start_s), WatcherStopped{}});
    world_.events.push_back({Instant::of_seconds(it.end_s), WatcherStarted{}});
  }
}

World Maker::make() {
  lay_out();
  plan_faults();
  plan_blind();
  for (std::uint32_t i = 0; i < world_.faults.size(); ++i) strike(i);
  for (std::uint32_t i = 0; i < natures_.size(); ++i) speak(i);
  check_link();
  std::erase_if(world_.events, [&](const Event& it) {
    return !running(it.at.seconds()) && !std::holds_alternative<WatcherStopped>(it.what);
  });
  std::stable_sort(world_.events.begin(), world_.events.end(),
                   [](const Event& a, const Event& b) { return a.at < b.at; });
  return world_;
}

}  // namespace

bool inside(const WatchPlan& plan, std::uint32_t controller, Subject subject) {
  const TankIndex tank = plan.controllers[controller].tank;
  const SitePlan& site = plan.sites[plan.tanks[tank.value].site.value];
  switch (subject.scope) {
    case Scope::controller:
      return controller == subject.index;
    case Scope::tank:
      return tank.value == subject.index;
    case Scope::site:
      return plan.tanks[tank.value].site.value == subject.index;
    case Scope::area:
      return site.area.value == subject.index;
    case Scope::provider:
      return site.provider.value == subject.index;
    case Scope::watcher:
      break;
  }
  return false;
}

std::uint64_t Draw::bits() {
  state_ += 0x9e3779b97f4a7c15ULL;
  std::uint64_t z = state_;
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
  return z ^ (z >> 31);
}

double Draw::share() {
  return static_cast<double>(bits() >> 11) * 0x1.0p-53;
}

World make_world(std::uint64_t seed, Options options) {
  return Maker(seed, options).make();
}

std::vector<Decision> run(const World& world, std::size_t count) {
  Watch watch(world.plan, Instant{});
  std::vector<Decision> decisions;
  for (std::size_t i = 0; i < count && i < world.events.size(); ++i) {
    watch.on(world.events[i], decisions);
  }
  return decisions;
}

}  // namespace ebbwatch::test
