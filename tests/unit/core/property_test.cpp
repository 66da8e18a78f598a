// Properties over random small worlds. EBBWATCH_WORLDS sets how many in all (2,000 in a normal
// run), EBBWATCH_SEED the first seed, EBBWATCH_SHOW=1 prints each decision that a count is about.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <map>
#include <string>
#include <variant>
#include <vector>

#include "core/wording.h"
#include "unit/core/world.h"

using namespace ebbwatch;
using test::make_world;
using test::Options;
using test::World;

namespace {

std::uint64_t from_environment(const char* name, std::uint64_t otherwise) {
  const char* text = std::getenv(name);
  return text == nullptr ? otherwise : std::strtoull(text, nullptr, 10);
}

/// Sum of the shares that the properties below ask for.
constexpr double shares_in_all = 7.25;

template <class Check>
void for_worlds(double share, Options options, const Check& check) {
  const std::uint64_t first = from_environment("EBBWATCH_SEED", 1);
  const double wanted = static_cast<double>(from_environment("EBBWATCH_WORLDS", 2000));
  const auto runs = static_cast<std::uint64_t>(wanted * share / shares_in_all);
  for (std::uint64_t seed = first; seed < first + std::max<std::uint64_t>(runs, 1); ++seed) {
    const World world = make_world(seed, options);
    INFO("rerun: EBBWATCH_SEED=" << seed << " EBBWATCH_WORLDS=1 core_tests; " << world.options);
    check(world);
  }
}

std::string line(const Decision& decision, const WatchPlan& plan) {
  const auto time = [](Instant at) { return std::to_string(at.us); };
  return decision_json(
      decision, plan, time,
      {"time_s", std::to_string(decision.at.us), std::to_string(decision.since.us)});
}

std::vector<std::string> lines(const std::vector<Decision>& decisions, const WatchPlan& plan) {
  std::vector<std::string> out;
  for (const Decision& it : decisions) out.push_back(line(it, plan));
  return out;
}

bool blind_at(const World& world, double t) {
  return std::any_of(world.blind.begin(), world.blind.end(),
                     [t](const test::Blind& it) { return it.start_s <= t && t < it.end_s; });
}

bool blind_between(const World& world, double from, double to) {
  return std::any_of(world.blind.begin(), world.blind.end(),
                     [=](const test::Blind& it) { return it.start_s < to && from < it.end_s; });
}

/// Somebody in the decision's scope could really not be heard at the time, or shortly before.
bool true_at(const World& world, const Decision& loss) {
  const double t = loss.at.seconds();
  return std::any_of(world.unheard.begin(), world.unheard.end(), [&](const test::Unheard& it) {
    const double interval = world.plan.controllers[it.controller].interval.seconds();
    return !world.faults[it.fault].blip && it.start_s <= t && t <= it.end_s + 2 * interval;
  });
}

/// Whether the subject holds everybody whom the fault silenced at once.
bool covers(const World& world, std::uint32_t fault, Subject subject) {
  return std::all_of(world.unheard.begin(), world.unheard.end(), [&](const test::Unheard& it) {
    return it.fault != fault || it.start_s > world.faults[fault].start_s ||
           test::inside(world.plan, it.controller, subject);
  });
}

}  // namespace

TEST_CASE("property: two runs give the same decisions, and a prefix of events a prefix of them") {
  for_worlds(0.5, {}, [](const World& world) {
    const auto whole = lines(test::run(world, world.events.size()), world.plan);
    CHECK(whole == lines(test::run(world, world.events.size()), world.plan));
    test::Draw draw(world.seed);
    for (int cut = 0; cut < 3; ++cut) {
      const auto count = draw.below(static_cast<std::uint32_t>(world.events.size() + 1));
      const auto part = lines(test::run(world, count), world.plan);
      REQUIRE(part.size() <= whole.size());
      CHECK(std::equal(part.begin(), part.end(), whole.begin()));
    }
  });
}

TEST_CASE(
    "property: copies of check-ins that come again, or late and out of order, change nothing") {
  Options options;
  options.lossy = false;
  for_worlds(0.25, options, [](const World& world) {
    std::vector<std::string> told;
    for (const Decision& it : test::run(world, world.events.size())) {
      told.push_back(line(it, world.plan));
    }
    World again = world;
    test::Draw draw(world.seed);
    std::vector<Event> copies;
    for (const Event& event : world.events) {
      const auto* check = std::get_if<CheckIn>(&event.what);
      if (check == nullptr || !check->seq || !check->uptime_s || !draw.chance(0.2)) continue;
      // Another event follows at once, so the copy tells nothing new about the link either.
      copies.push_back({event.at, *check});
    }
    again.events.insert(again.events.end(), copies.begin(), copies.end());
    std::stable_sort(again.events.begin(), again.events.end(),
                     [](const Event& a, const Event& b) { return a.at < b.at; });
    std::vector<std::string> told_again;
    for (const Decision& it : test::run(again, again.events.size())) {
      told_again.push_back(line(it, world.plan));
    }
    CHECK(told == told_again);
  });
}

TEST_CASE("property: copies of check-ins from long ago are never contact") {
  Options options;
  options.lossy = false;
  options.blind = false;
  for_worlds(0.25, options, [](const World& world) {
    Watch copied(world.plan, Instant{});
    std::vector<Decision> ignored;
    std::vector<CheckIn> seen;
    test::Draw draw(world.seed);
    for (const Event& event : world.events) {
      copied.on(event, ignored);
      const auto* check = std::get_if<CheckIn>(&event.what);
      if (check != nullptr && check->seq && check->uptime_s) seen.push_back(*check);
      if (seen.empty() || !draw.chance(0.05)) continue;
      const CheckIn& old = seen[draw.below(static_cast<std::uint32_t>(seen.size()))];
      const Instant before = copied.last_heard(old.controller);
      // A copy from just after a start cannot be told from a new start, and one from before the
      // last start only when its uptime is clearly too long.
      const double passed_s = (event.at - before).seconds();
      const double newest_s = copied.record(old.controller).last_uptime_s.value_or(0);
      if (*old.uptime_s <= passed_s + 5) continue;
      if (*old.uptime_s > newest_s && *old.uptime_s < newest_s + 1.1 * passed_s + 301) continue;
      copied.on({event.at, old}, ignored);
      CHECK(copied.last_heard(old.controller) == before);
    }
  });
}

TEST_CASE("property: decisions are in time order and never later than the newest event") {
  for_worlds(0.25, {}, [](const World& world) {
    Watch watch(world.plan, Instant{});
    std::vector<Decision> decisions;
    Instant last{};
    for (const Event& event : world.events) {
      const std::size_t before = decisions.size();
      watch.on(event, decisions);
      for (std::size_t i = before; i < decisions.size(); ++i) {
        CHECK(decisions[i].at >= last);
        CHECK(decisions[i].at <= event.at);
        CHECK(decisions[i].since <= decisions[i].at);
        last = decisions[i].at;
      }
    }
  });
}

TEST_CASE("property: no loss is decided while the watcher is cut off, stopped or asleep") {
  for_worlds(1, {}, [](const World& world) {
    for (const Decision& it : test::run(world, world.events.size())) {
      if (it.kind != DecisionKind::loss) continue;
      CHECK_FALSE(blind_at(world, it.at.seconds()));
    }
  });
}

TEST_CASE("property: blips and the watcher's own troubles are never a loss") {
  Options options;
  options.faults = false;
  options.lossy = false;
  for_worlds(1, options, [](const World& world) {
    for (const Decision& it : test::run(world, world.events.size())) {
      INFO(line(it, world.plan));
      CHECK(it.kind == DecisionKind::watch_gap);
    }
  });
}

TEST_CASE("property: with lost check-ins around them, blips are a loss in less than one of 1000") {
  Options options;
  options.faults = false;
  std::size_t worlds = 0;
  std::size_t told = 0;
  for_worlds(1, options, [&](const World& world) {
    ++worlds;
    for (const Decision& it : test::run(world, world.events.size())) {
      if (it.kind != DecisionKind::loss) continue;
      ++told;
      if (std::getenv("EBBWATCH_SHOW") != nullptr) {
        MESSAGE("seed " << world.seed << " " << line(it, world.plan));
      }
    }
  });
  MESSAGE(told << " false losses in " << worlds << " worlds of several blips each");
  CHECK(told <= worlds / 1000 + 1);
}

TEST_CASE("property: the watcher's own gap is told once when it is over, and short ones never") {
  Options options;
  options.faults = false;
  options.blips = false;
  for_worlds(0.5, options, [](const World& world) {
    const double told = 3 * world.plan.uplink_every.seconds();
    const auto decisions = test::run(world, world.events.size());
    for (const test::Blind& it : world.blind) {
      const auto found = std::count_if(decisions.begin(), decisions.end(), [&](const Decision& d) {
        return d.at.seconds() >= it.end_s - 0.001 && d.since.seconds() <= it.start_s + 0.001 &&
               d.at.seconds() <= it.end_s + told;
      });
      if (it.end_s > world.length_s - 600) continue;
      const double length = it.end_s - it.start_s;
      INFO("blind from " << it.start_s << " to " << it.end_s);
      if (length > told) CHECK(found == 1);
      if (length < told / 3) CHECK(found == 0);
    }
  });
}

TEST_CASE("property: every loss is true, and each outage has one loss and at most one recovery") {
  Options options;
  options.lossy = false;
  for_worlds(1, options, [](const World& world) {
    std::map<OutageId, int> losses;
    std::map<OutageId, int> recoveries;
    for (const Decision& it : test::run(world, world.events.size())) {
      INFO(line(it, world.plan));
      if (it.kind == DecisionKind::loss) {
        CHECK(true_at(world, it));
        CHECK(++losses[it.outage] == 1);
      }
      if (it.kind == DecisionKind::cause_revised) CHECK(losses[it.outage] == 1);
      if (it.kind != DecisionKind::recovery) continue;
      CHECK(losses[it.outage] == 1);
      CHECK(++recoveries[it.outage] == 1);
      CHECK(it.confidence <= 1);
    }
  });
}

TEST_CASE("property: a long outage is found while it lasts") {
  for_worlds(1, {}, [](const World& world) {
    Watch watch(world.plan, Instant{});
    std::vector<Decision> decisions;
    std::size_t next = 0;
    // When each outage must be known at the latest: delays as wished, doubled for patience.
    struct Bound {
      double at;
      std::uint32_t controller;
    };
    std::vector<Bound> bounds;
    for (const test::Unheard& it : world.unheard) {
      const auto& plan = world.plan.controllers[it.controller];
      const double interval = plan.interval.seconds();
      const double wish = std::max(plan.detection.on_delay.seconds(), 3 * interval);
      const double at = it.start_s + 2 * wish + 4 * interval +
                        2 * world.plan.uplink_every.seconds() + plan.detection.on_delay.seconds();
      if (at > it.end_s || at > world.length_s - 600) continue;
      if (blind_between(world, it.start_s - 600, at + 600)) continue;
      bounds.push_back({at, it.controller});
    }
    std::sort(bounds.begin(), bounds.end(),
              [](const Bound& a, const Bound& b) { return a.at < b.at; });
    for (const Event& event : world.events) {
      while (next < bounds.size() && bounds[next].at < event.at.seconds()) {
        const Contact contact = watch.contact(ControllerIndex{bounds[next].controller});
        INFO("controller " << bounds[next].controller << " at " << bounds[next].at);
        const bool judged = !world.plan.uplink_references.empty();
        if (judged) CHECK((contact == Contact::silent || contact == Contact::enrolled));
        ++next;
      }
      watch.on(event, decisions);
    }
  });
}

TEST_CASE("property: faults apart from each other are one loss each, at the widest true scope") {
  Options options;
  options.apart = true;
  options.blips = false;
  options.blind = false;
  std::size_t faults = 0;
  std::size_t right = 0;
  std::size_t excess = 0;
  for_worlds(0.5, options, [&](const World& world) {
    const auto decisions = test::run(world, world.events.size());
    for (std::uint32_t i = 0; i < world.faults.size(); ++i) {
      const test::Fault& fault = world.faults[i];
      const bool any = std::any_of(world.unheard.begin(), world.unheard.end(),
                                   [i](const test::Unheard& it) { return it.fault == i; });
      if (!any || fault.end_s > world.length_s - 600) continue;
      ++faults;
      std::size_t found = 0;
      std::string told;
      for (const Decision& it : decisions) {
        if (it.kind != DecisionKind::loss || it.at.seconds() < fault.start_s ||
            it.at.seconds() > fault.end_s + 600) {
          continue;
        }
        ++found;
        if (covers(world, i, it.subject)) ++right;
        told += line(it, world.plan) + "\n";
      }
      if (found > 1 && std::getenv("EBBWATCH_SHOW") != nullptr) {
        MESSAGE("seed " << world.seed << " fault " << static_cast<int>(fault.kind) << " of "
                        << subject_id(world.plan, fault.subject) << " at " << fault.start_s << ":\n"
                        << told);
      }
      if (found > 1) excess += found - 1;
    }
  });
  MESSAGE("faults " << faults << ", at their scope or wider " << right << ", excess " << excess);
  CHECK(faults > 0);
  CHECK(static_cast<double>(right) >= 0.9 * static_cast<double>(faults));
  CHECK(static_cast<double>(excess) <= 1 + 0.002 * static_cast<double>(faults));
}
