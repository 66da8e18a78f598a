// An invented world of sites that check in to several watchers, with paths that break: what each
// watcher heard as rows of a trace, and what really happened. Everything follows from the seed.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "core/site_plan.h"
#include "trace/summary.h"
#include "trace/trace_reader.h"
#include "trace/truth.h"

namespace ebbwatch::bench {

inline constexpr int world_watchers = 3;

/// Faults of one kind: how many a day on the whole, and how long each lasts.
struct Faults {
  double a_day = 0, least_s = 0, most_s = 0;
};
struct WorldRules {
  double days = 30;
  std::uint32_t sites = 20;
  double lost = 0.01;              ///< Share of check-ins that get lost singly.
  Faults outage{0.7, 900, 14400};  ///< Of a site: power or its internet.
  Faults path{4, 300, 5400};       ///< One to three sites do not reach one watcher.
  Faults link{0.7, 120, 3600};     ///< Of a watcher; its checks of the own link fail.
  Faults stop{0.1, 60, 3600};      ///< Of a watcher's process.
};

class WitnessWorld {
 public:
  WitnessWorld(std::uint64_t seed, WorldRules rules);

  /// Gives every row in time order. The texts in it are valid during the call.
  void for_each_row(const std::function<void(const TraceRow&)>& visit) const;
  /// True outages of sites, and the spells in which the first watcher was cut off or stopped.
  std::vector<TruthRow> truth() const;
  /// As the first watcher would have it, with so many of the others as witnesses.
  WatchPlan plan(int witnesses) const;
  double length_s() const { return rules_.days * 86400; }

 private:
  struct Spell {
    double from_s = 0, to_s = 0;
    bool holds(double at) const { return from_s <= at && at < to_s; }
  };
  using Spells = std::vector<Spell>;
  void invent(std::uint64_t seed);
  void rows_of_second(double at, std::vector<std::size_t>& started,
                      const std::function<void(const TraceRow&)>& visit) const;
  bool loses(std::uint64_t watcher, std::uint64_t site, std::uint64_t minute) const;

  std::uint64_t seed_;
  WorldRules rules_;
  std::vector<Spells> outages_;             // by site
  std::vector<std::vector<Spells>> paths_;  // by watcher, by site
  std::vector<Spells> links_, stops_;       // by watcher
  std::vector<std::string> sites_;
};

/// Replays the first watcher with so many witnesses; the same core as the daemon's.
ReplaySummary replay_world(const WitnessWorld& world, int witnesses);

}  // namespace ebbwatch::bench
