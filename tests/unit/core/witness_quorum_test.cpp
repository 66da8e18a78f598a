#include "core/witness_quorum.h"

#include <doctest/doctest.h>

#include "unit/core/scene.h"

using namespace ebbwatch;
using test::Plan;
using test::Scene;

namespace {

constexpr Quorum majority{Quorum::Kind::majority, 0};
constexpr Quorum all{Quorum::Kind::all, 0};

Plan watched_by(int witnesses) {
  Plan plan;
  plan.site("elm").tank("lagoon").controller("main", 60);
  plan.site("birch").tank("reef").controller("other", 60);
  for (int i = 0; i < witnesses; ++i) plan.witness("w" + std::to_string(i));
  return plan;
}

void witness(Scene& scene, double t, std::uint32_t which, const char* hears) {
  scene.feed(t, WitnessReachable{WitnessIndex{which}, true});
  if (hears != nullptr) {
    scene.feed(t, WitnessWord{WitnessIndex{which}, scene.index(hears), Span{}});
  }
}

}  // namespace

TEST_CASE("witnesses: half or more that still hear it overrule any quorum") {
  CHECK(silence_confirmed({0, 0}, majority));
  CHECK_FALSE(silence_confirmed({1, 1}, majority));
  CHECK(silence_confirmed({1, 0}, all));
  CHECK(silence_confirmed({2, 1}, majority));
  CHECK_FALSE(silence_confirmed({2, 1}, all));
  CHECK_FALSE(silence_confirmed({2, 2}, majority));
  CHECK_FALSE(silence_confirmed({3, 2}, {Quorum::Kind::count, 1}));
  CHECK(silence_confirmed({4, 2}, majority));
}

TEST_CASE("witnesses: what one of two watchers still hears is not lost, what none hears is") {
  for (const bool hears : {true, false}) {
    Scene scene(watched_by(1).plan);
    for (int t = 0; t < 3600; t += 60) {
      if (t <= 600) scene.hear(t, "main");
      scene.hear(t + 1, "other");
      witness(scene, t + 2, 0, hears || t <= 600 ? "main" : nullptr);
    }
    CHECK(scene.decisions().size() == (hears ? 0 : 1));
  }
}

TEST_CASE("witnesses: one whose own link is down is not asked") {
  Scene scene(watched_by(1).plan);
  for (int t = 0; t < 3600; t += 60) {
    if (t <= 600) scene.hear(t, "main");
    scene.hear(t + 1, "other");
    witness(scene, t + 2, 0, "main");
    scene.feed(t + 3, WitnessReachable{WitnessIndex{0}, false});
  }
  CHECK(scene.decisions().size() == 1);
}

TEST_CASE("witnesses: one that has gone quiet is not asked") {
  Scene scene(watched_by(1).plan);
  for (int t = 0; t < 3600; t += 60) {
    if (t <= 600) scene.hear(t, "main");
    scene.hear(t + 1, "other");
    if (t <= 660) witness(scene, t + 2, 0, "main");
  }
  CHECK(scene.decisions().size() == 1);
}
