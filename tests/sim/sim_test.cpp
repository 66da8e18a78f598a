// Many worlds by seed. SIM_RUNS and SIM_SEED choose them; a failure prints how to repeat it.
#include <doctest/doctest.h>

#include <cstdlib>

#include "sim/world.h"

using namespace ebbwatch::sim;

namespace {

std::uint64_t number(const char* name, std::uint64_t otherwise) {
  const char* text = std::getenv(name);
  return text == nullptr ? otherwise : std::strtoull(text, nullptr, 10);
}

}  // namespace

TEST_CASE("worlds: watchers tell each true outage, no false one, and agree in the end") {
  const std::uint64_t first = number("SIM_SEED", 1), runs = number("SIM_RUNS", EBBWATCH_WORLDS);
  Findings sum;
  for (std::uint64_t seed = first; seed < first + runs; ++seed) {
    const Findings found = World(seed).run();
    for (const std::string& what : found.broken) {
      FAIL_CHECK("world ", seed, ": ", what, " (SIM_SEED=", seed, " SIM_RUNS=1)");
    }
    sum.outages += found.outages;
    sum.told += found.told;
    sum.told_twice += found.told_twice;
    sum.vouched += found.vouched;
    sum.lost_messages += found.lost_messages;
    sum.partitions += found.partitions;
    sum.crashes += found.crashes;
  }
  MESSAGE(runs, " worlds: ", sum.outages, " outages, ", sum.told, " of those that had to be told, ",
          sum.told_twice, " told by two, ", sum.vouched, " broken paths told by nobody; ",
          sum.partitions, " partitions, ", sum.crashes, " crashes, ", sum.lost_messages,
          " messages lost");
  CHECK((runs < 50 || sum.told > 0));
}
