// Random small worlds by seed: homes and shops with mains, routers and controllers that fail, and a
// watcher that is itself cut off or asleep at times. The world knows the truth.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "core/watch.h"

namespace ebbwatch::test {

/// splitmix64: the same numbers on every machine.
class Draw {
 public:
  explicit Draw(std::uint64_t seed) : state_(seed) {}
  std::uint64_t bits();
  /// In [0, 1).
  double share();
  double between(double low, double high) { return low + (high - low) * share(); }
  bool chance(double p) { return share() < p; }
  std::uint32_t below(std::uint32_t n) { return static_cast<std::uint32_t>(bits() % n); }
  template <class T, std::size_t N>
  T one_of(const T (&from)[N]) {
    return from[below(static_cast<std::uint32_t>(N))];
  }

 private:
  std::uint64_t state_;
};

enum class FaultKind : std::uint8_t { mains, link, crash, radio };

/// One thing that happened. A blip is one that is over before the on-delay.
struct Fault {
  FaultKind kind = FaultKind::mains;
  Subject subject;
  double start_s = 0;
  double end_s = 0;  ///< Of the fault itself; starting again takes longer.
  bool blip = false;
};

/// When one controller could not be heard, by no fault of the watcher.
struct Unheard {
  std::uint32_t controller = 0;
  double start_s = 0;
  double end_s = 0;
  std::uint32_t fault = 0;
};

struct Blind {
  double start_s = 0;
  double end_s = 0;
  bool stopped = false;  ///< Not running; else its link was down.
  bool announced = false;
};

struct World {
  std::uint64_t seed = 0;
  WatchPlan plan;
  double length_s = 0;
  double loss = 0;
  std::vector<Fault> faults;
  std::vector<Unheard> unheard;
  std::vector<Blind> blind;
  std::vector<Event> events;
  std::string options;  ///< What was drawn, in words, for the report of a failure.
};

/// What a world may contain.
struct Options {
  bool faults = true;  ///< Outages that must be told.
  bool blips = true;   ///< Short ones that must not.
  bool blind = true;   ///< The watcher's own troubles.
  bool lossy = true;   ///< Single check-ins get lost, doubled, delayed.
  bool apart = false;  ///< Faults never close to each other.
};

/// Whether the controller is the subject or part of it.
bool inside(const WatchPlan& plan, std::uint32_t controller, Subject subject);

World make_world(std::uint64_t seed, Options options);

/// Feeds the first `count` events to a new Watch and returns what it decided.
std::vector<Decision> run(const World& world, std::size_t count);

}  // namespace ebbwatch::test
