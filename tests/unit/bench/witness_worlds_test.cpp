// Invented worlds with several watchers: the same by seed, and what witnesses gain in them.
#include "study/witness_worlds.h"

#include <doctest/doctest.h>

using namespace ebbwatch;
using namespace ebbwatch::bench;

namespace {

WorldRules short_rules() {
  WorldRules rules;
  rules.days = 4;
  rules.sites = 8;
  rules.outage.a_day = 2;
  return rules;
}

}  // namespace

TEST_CASE("witness worlds: rows are in time order, and the same for the same seed") {
  const auto digest = [](std::uint64_t seed) {
    std::uint64_t rows = 0, sum = 0;
    Instant last{};
    WitnessWorld(seed, short_rules()).for_each_row([&](const TraceRow& row) {
      CHECK_FALSE(row.at < last);
      last = row.at;
      ++rows;
      sum = sum * 31 + row.seq.value_or(7) + row.watcher.size() + row.subject.size();
    });
    CHECK(rows > 100'000);
    return sum;
  };
  CHECK(digest(5) == digest(5));
  CHECK(digest(5) != digest(6));
}

TEST_CASE("witness worlds: a witness takes false losses away, and no outage is missed for it") {
  std::uint64_t alone = 0, with_one = 0;
  for (std::uint64_t seed = 1; seed <= 3; ++seed) {
    const WitnessWorld world(seed, short_rules());
    const ReplaySummary none = replay_world(world, 0), one = replay_world(world, 1);
    CHECK(none.outages > 0);
    CHECK(one.outages_found == none.outages);
    alone += none.false_losses;
    with_one += one.false_losses;
  }
  CHECK(alone >= 5);
  CHECK(with_one * 3 <= alone);
}
