// All interleavings up to a depth, and random ones beyond. EBBWATCH_MODEL_DEPTH, SIM_RUNS and
// SIM_SEED ask for more, or for one run again.
#include "notices/desk_model.h"

#include <doctest/doctest.h>

#include <cstdlib>
#include <random>

using namespace ebbwatch;
using sample::Act;
using sample::DeskModel;

namespace {

std::uint64_t from_environment(const char* variable, std::uint64_t otherwise) {
  const char* value = std::getenv(variable);
  return value == nullptr ? otherwise : std::strtoull(value, nullptr, 10);
}

struct Count {
  std::uint64_t worlds = 0, received = 0;
};

void report(const DeskModel& model) {
  INFO("acts: " << model.story());
  for (const std::string& problem : model.problems()) {
    INFO("problem: " << problem);
    CHECK(false);
  }
}

// Every world that `depth` more acts can lead to, each healed and checked.
void explore(const DeskModel& model, std::uint64_t depth, Count& count) {
  DeskModel healed = model;
  healed.heal();
  ++count.worlds;
  count.received += healed.received();
  if (!healed.problems().empty()) return report(healed);
  if (depth == 0) return;
  for (Act act : sample::all_acts) {
    if (!model.can(act)) continue;
    DeskModel next = model;
    next.do_it(act);
    explore(next, depth - 1, count);
  }
}

}  // namespace

TEST_CASE("model: every interleaving up to the depth keeps the promises") {
  const std::uint64_t depth = from_environment("EBBWATCH_MODEL_DEPTH", 4);
  Count count;
  // The first two acts are always the same; they do not count.
  DeskModel start(1);
  start.do_it(Act::lose);
  start.do_it(Act::commit);
  explore(start, depth, count);
  MESSAGE("depth " << depth << ": " << count.worlds << " worlds, " << count.received
                   << " notices received");
  CHECK(count.worlds > 1000);
}

TEST_CASE("model: random interleavings of two tanks keep the promises") {
  const std::uint64_t first = from_environment("SIM_SEED", 1);
  const std::uint64_t runs = std::getenv("SIM_SEED") ? 1 : from_environment("SIM_RUNS", 400);
  std::uint64_t received = 0;
  for (std::uint64_t seed = first; seed < first + runs; ++seed) {
    INFO("rerun: SIM_SEED=" << seed << " notices_tests -tc='model: random*'");
    std::mt19937_64 chance(seed);
    // Not every act in every run: rare combinations come up more often so.
    std::vector<Act> acts;
    for (Act act : sample::all_acts) {
      if (chance() % 4 != 0) acts.push_back(act);
    }
    acts.push_back(Act::lose);
    DeskModel model(seed, 2, seed % 2 == 0 ? 1 : 5);
    for (int step = 0; step < 60 && model.problems().empty(); ++step) {
      const Act act = acts[chance() % acts.size()];
      const auto tank = static_cast<std::uint32_t>(chance() % 2);
      if (model.can(act, tank)) model.do_it(act, tank);
    }
    model.heal();
    received += model.received();
    report(model);
  }
  CHECK(received > runs);
}
