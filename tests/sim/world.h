// The simulated world: watchers, sites, people, and a network that partitions, loses, delays,
// repeats and reorders, in virtual time. Everything follows from the seed.
#pragma once

#include <cstdint>
#include <functional>
#include <queue>
#include <random>
#include <string>
#include <vector>

#include "sim/node.h"

namespace ebbwatch::sim {

struct Findings {
  std::vector<std::string> broken;  ///< Invariants, in words, with times.
  std::uint32_t outages = 0;        ///< True ones.
  std::uint32_t told = 0;           ///< Of those that had to be told.
  std::uint32_t told_twice = 0;
  std::uint32_t vouched = 0;  ///< Paths broken towards some watcher that were told by none.
  std::uint32_t lost_messages = 0, partitions = 0, crashes = 0;
};

class World {
 public:
  explicit World(std::uint64_t seed);
  Findings run();

 private:
  /// Time from `from` to `to` in which something is out of order.
  struct Spell {
    Instant from, to;
    bool holds(Instant at) const { return from <= at && at < to; }
    bool meets(Instant a, Instant b) const { return from < b && a < to; }
  };
  struct SitePath {  ///< A site cannot reach one watcher.
    std::uint32_t site, watcher;
    Spell when;
  };
  struct Cut {  ///< Messages from one watcher do not arrive at another.
    std::uint32_t from, to;
    Spell when;
  };
  struct Flight {
    Instant at;
    std::uint64_t order;
    std::function<void(Instant)> land;
    bool operator>(const Flight& other) const {
      return at != other.at ? at > other.at : order > other.order;
    }
  };
  struct Calling {  ///< One request under way.
    std::uint64_t number = 0;
    Instant until;
  };

  void invent_faults();
  void invent_partition(Instant at, Instant to);
  void step(Instant now);
  void send_requests(std::uint32_t from, Instant now);
  void fly(std::uint32_t from, std::uint32_t to, Instant now, std::function<void(Instant)> land);
  bool carries(std::uint32_t from, std::uint32_t to, Instant at) const;
  bool link_works(std::uint32_t watcher, Instant at) const;
  bool runs(std::uint32_t watcher, Instant at) const;
  bool off(std::uint32_t site, Instant at) const;
  bool hears(std::uint32_t watcher, std::uint32_t site, Instant at) const;
  /// Up, linked, and heard by everybody, all the time from `from` to `to`.
  bool sound(std::uint32_t watcher, Instant from, Instant to) const;
  bool in_touch(std::uint32_t a, std::uint32_t b, Instant from, Instant to) const;
  bool hears_all_along(std::uint32_t watcher, std::uint32_t site, Instant from, Instant to) const;

  void judge(Findings& out) const;
  void judge_loss(std::uint32_t watcher, const Loss& loss, Findings& out) const;
  void judge_outage(std::uint32_t site, Spell outage, Findings& out) const;
  void judge_end(Findings& out) const;

  Span chance_span(double least_s, double most_s);
  bool chance(double of) { return std::uniform_real_distribution<>(0, 1)(dice_) < of; }
  std::uint32_t pick(std::uint32_t below) { return static_cast<std::uint32_t>(dice_() % below); }

  std::mt19937_64 dice_;
  Settings settings_;
  Span length_, healed_from_;
  double loss_ = 0, repeat_ = 0;
  Span delay_most_;
  std::vector<Node> nodes_;
  std::vector<std::vector<Spell>> outages_;  // by site
  std::vector<SitePath> paths_;
  std::vector<Cut> cuts_;
  std::vector<std::vector<Spell>> links_down_, down_;  // by watcher
  std::vector<Span> phase_;                            // by site
  std::priority_queue<Flight, std::vector<Flight>, std::greater<>> flights_;
  std::vector<std::vector<Calling>> calls_;
  std::uint64_t order_ = 0;
  std::uint32_t lost_ = 0;
  std::uint32_t partitions_ = 0;
};

}  // namespace ebbwatch::sim
