// What one witness that does not tell the truth can do, and what it cannot.
#include <doctest/doctest.h>

#include <functional>

#include "unit/core/scene.h"

using namespace ebbwatch;
using test::Plan;
using test::Scene;

namespace {

/// What a witness says at a time, as the age of what it last heard; empty: never.
using Says = std::function<std::optional<Span>(double time)>;

const Says always_heard = [](double) { return std::optional(Span::of_s(1)); };
const Says never_heard = [](double) { return std::optional<Span>(); };
const Says long_ago = [](double) { return std::optional(Span::of_h(2)); };
/// The truth of a site that was off from 600 on.
const Says off = [](double time) { return std::optional(Span::of_seconds(time - 600)); };
/// The truth of a site that only this watcher does not hear.
const Says on = [](double) { return std::optional(Span::of_s(20)); };

/// Losses that are told within an hour of a silence from 600 on.
std::string told_with(const std::vector<Says>& witnesses) {
  Plan plan;
  plan.site("elm").tank("lagoon").controller("main", 60);
  plan.site("birch").tank("reef").controller("other", 60);
  for (std::size_t i = 0; i < witnesses.size(); ++i) plan.witness("w" + std::to_string(i));
  plan.plan.asks_witnesses = true;
  Scene scene(plan.plan);
  std::vector<ControllerIndex> questions;
  for (double time = 0; time < 4200; time += 1) {
    if (static_cast<int>(time) % 60 == 0) {
      if (time <= 600) scene.hear(time, "main");
      scene.hear(time, "other");
    }
    scene.feed(time, Tick{});
    questions.clear();
    scene.watch.take_questions(questions);
    for (const ControllerIndex it : questions) {
      for (std::uint32_t w = 0; w < witnesses.size(); ++w) {
        scene.feed(time, WitnessReachable{WitnessIndex{w}, true});
        scene.feed(time, WitnessWord{WitnessIndex{w}, it, witnesses[w](time)});
      }
      scene.feed(time, WitnessesHeardOut{it});
    }
  }
  return scene.told();
}

bool loss_of_elm(const std::vector<Says>& witnesses) {
  return told_with(witnesses).find("loss site elm") != std::string::npos;
}

}  // namespace

TEST_CASE(
    "liar: one that always hears hides a loss from a single partner, not from two that agree") {
  CHECK_FALSE(loss_of_elm({always_heard}));
  CHECK(loss_of_elm({always_heard, off}));
  CHECK(loss_of_elm({off, always_heard, off}));
  CHECK_FALSE(loss_of_elm({always_heard, always_heard, off}));  // Two liars of four.
}

TEST_CASE("liar: one that says never has no voice, as a stopped one has none") {
  CHECK(loss_of_elm({never_heard}));
  CHECK_FALSE(loss_of_elm({never_heard, on}));
  CHECK(loss_of_elm({never_heard, off}));
}

TEST_CASE("liar: one that says long ago can only bring back what this watcher would tell alone") {
  CHECK(loss_of_elm({long_ago}));
  CHECK(loss_of_elm({long_ago, on}));  // Two of three do not hear it.
  CHECK_FALSE(loss_of_elm({long_ago, on, on}));
}
