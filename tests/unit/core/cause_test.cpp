#include "core/cause.h"

#include <doctest/doctest.h>

#include <string>

using namespace ebbwatch;

namespace {

CauseBelief after(std::initializer_list<Observation> seen) {
  CauseFacts facts;
  for (const Observation it : seen) facts.add(it);
  return believe(facts);
}

}  // namespace

TEST_CASE("cause: every row of the table is a chance, and stands at its place") {
  std::size_t place = 0;
  for (const Likelihood& row : likelihoods()) {
    CHECK(static_cast<std::size_t>(row.observation) == place++);
    for (const double chance : {row.mains, row.internet, row.controller}) {
      CHECK(chance > 0);
      CHECK(chance < 1);
    }
    CHECK(std::string(row.reason).size() > 10);
  }
}

TEST_CASE("cause: a silent home alone tells nothing") {
  CHECK(after({Observation::lone_site}).cause == Cause::undetermined);
  CHECK(after({Observation::whole_site}).cause == Cause::undetermined);
}

TEST_CASE("cause: what sites share is what failed") {
  CHECK(after({Observation::whole_area}).cause == Cause::mains_power);
  CHECK(after({Observation::whole_provider}).cause == Cause::internet);
}

TEST_CASE("cause: one restart at a lone home is never claimed surely") {
  const auto belief = after({Observation::lone_site, Observation::mains_fed_restarted});
  CHECK(belief.confidence < 0.8);
}

TEST_CASE("cause: return tells link from mains") {
  const auto link = after({Observation::lone_site, Observation::mains_fed_kept_running});
  CHECK(link.cause == Cause::internet);
  CHECK(link.confidence > 0.8);
  const auto mains = after(
      {Observation::whole_site, Observation::mains_fed_restarted, Observation::several_restarted});
  CHECK(mains.cause == Cause::mains_power);
  CHECK(mains.confidence > 0.9);
}

TEST_CASE("cause: a battery's word is believed, a neighbour on mains speaks against it") {
  const auto mains =
      after({Observation::whole_site, Observation::battery_reported, Observation::site_alive});
  CHECK(mains.cause == Cause::mains_power);
  CHECK(mains.confidence > 0.95);
  const auto own =
      after({Observation::one_of_tank, Observation::site_alive, Observation::mains_fed_alive});
  CHECK(own.cause == Cause::controller);
}

TEST_CASE("cause: the confidence stays within 0 and 0.99 and many alike count little more") {
  CauseFacts facts;
  facts.add(Observation::lone_site);
  facts.add(Observation::mains_fed_kept_running, 1'000'000);
  const auto belief = believe(facts);
  CHECK(belief.confidence <= 0.99);
  CHECK(belief.cause == Cause::internet);
}
