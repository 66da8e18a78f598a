// Asking the witnesses before a loss: the question, the wait for it, and what the answers change.
#include <doctest/doctest.h>

#include "unit/core/scene.h"

using namespace ebbwatch;
using test::Plan;
using test::Scene;

namespace {

WatchPlan asking_plan(int witnesses, Span limit = Span::of_s(10)) {
  Plan plan;
  plan.site("elm").tank("lagoon").controller("main", 60).controller("logger", 60);
  plan.site("birch").tank("reef").controller("other", 60);
  for (int i = 0; i < witnesses; ++i) plan.witness("w" + std::to_string(i));
  plan.plan.asks_witnesses = witnesses > 0;
  plan.plan.witness_limit = limit;
  return plan.plan;
}

struct Asked {
  explicit Asked(WatchPlan watched) : scene(std::move(watched)) {}

  /// Everybody is heard until 600, then only "other". Ticks up to `until`, or to a question.
  double run(double until) {
    for (; time <= until; time += 1) {
      const bool minute = static_cast<int>(time) % 60 == 0;
      if (minute && time <= 600) {
        scene.hear(time, "main");
        scene.hear(time, "logger");
      }
      if (minute) scene.hear(time, "other");
      scene.feed(time, Tick{});
      if (!pending()) continue;
      const double at = time;
      time += 1;
      return at;
    }
    return -1;
  }
  bool pending() {
    questions.clear();
    scene.watch.take_questions(questions);
    return !questions.empty();
  }
  void answer(std::uint32_t which, std::optional<Span> age) {
    scene.feed(time, WitnessReachable{WitnessIndex{which}, true});
    for (const ControllerIndex it : questions) {
      scene.feed(time, WitnessWord{WitnessIndex{which}, it, age});
    }
  }
  void heard_out() {
    for (const ControllerIndex it : questions) scene.feed(time, WitnessesHeardOut{it});
  }

  Scene scene;
  double time = 0;
  std::vector<ControllerIndex> questions;
};

double told_at_without_witnesses() {
  Asked one(asking_plan(0));
  CHECK(one.run(2000) == -1);
  REQUIRE(one.scene.decisions().size() == 1);
  return one.scene.decisions().front().at.seconds();
}

}  // namespace

TEST_CASE("asking: one question for all of a site, so early that a prompt answer delays nothing") {
  const double plain = told_at_without_witnesses();
  Asked one(asking_plan(1));
  const double asked = one.run(2000);
  CHECK(asked > 660);
  CHECK(asked <= plain - 9);
  CHECK(one.questions.size() == 2);
  one.answer(0, Span::of_seconds(asked - 600));
  one.heard_out();
  CHECK(one.scene.decisions().empty());
  one.run(2000);
  REQUIRE(one.scene.decisions().size() == 1);
  CHECK(one.scene.decisions().front().at.seconds() <= plain);
  CHECK(one.scene.told().find("loss site elm") != std::string::npos);
}

TEST_CASE("asking: a witness that never answers delays a loss by no more than the limit") {
  const double plain = told_at_without_witnesses();
  for (const double limit : {2.0, 10.0, 30.0}) {
    Asked one(asking_plan(2, Span::of_seconds(limit)));
    while (one.run(3000) >= 0) {
    }
    REQUIRE(one.scene.decisions().size() == 1);
    CHECK(one.scene.decisions().front().at.seconds() <= plain + limit);
  }
}

TEST_CASE("asking: what a witness hears is no loss but a broken path, and one when it ends") {
  Asked one(asking_plan(1));
  const ControllerIndex main = one.scene.index("main");
  while (one.run(3000) >= 0) {
    one.answer(0, Span::of_s(20));
    one.heard_out();
  }
  CHECK(one.scene.decisions().empty());
  CHECK(one.scene.watch.vouched(main));
  CHECK(one.scene.contact("main") == Contact::overdue);
  while (one.run(6000) >= 0) {
    one.answer(0, Span::of_seconds(one.time - 3000));
    one.heard_out();
  }
  CHECK(one.scene.decisions().size() == 1);
  CHECK_FALSE(one.scene.watch.vouched(main));
}

TEST_CASE("asking: a check-in ends the broken path at once") {
  Asked one(asking_plan(1));
  for (int i = 0; i < 5; ++i) {
    REQUIRE(one.run(3000) >= 0);
    one.answer(0, Span{});
    one.heard_out();
  }
  CHECK(one.scene.watch.vouched(one.scene.index("main")));
  one.scene.hear(one.time, "main");
  CHECK_FALSE(one.scene.watch.vouched(one.scene.index("main")));
}

TEST_CASE("asking: a site is not lost when a witness hears a part of it") {
  Asked one(asking_plan(1));
  while (one.run(3000) >= 0) {
    one.scene.feed(one.time, WitnessReachable{WitnessIndex{0}, true});
    for (const ControllerIndex it : one.questions) {
      const bool heard = it == one.scene.index("logger");
      one.scene.feed(
          one.time, WitnessWord{WitnessIndex{0}, it, Span::of_seconds(heard ? 5 : one.time - 600)});
    }
    one.heard_out();
  }
  const std::string told = one.scene.told();
  CHECK(told.find("loss controller main") != std::string::npos);
  CHECK(told.find("site") == std::string::npos);
}

TEST_CASE("asking: one that never heard it and one whose link is down have no vote") {
  Asked one(asking_plan(2));
  while (one.run(3000) >= 0) {
    one.answer(0, std::nullopt);
    one.answer(1, Span{});
    one.scene.feed(one.time, WitnessReachable{WitnessIndex{1}, false});
    one.heard_out();
  }
  CHECK(one.scene.decisions().size() == 1);
}

TEST_CASE("asking: when those that heard it are all gone at once, the own link is proven first") {
  WatchPlan plan = asking_plan(1);
  plan.uplink_references = {"a"};
  plan.uplink_quorum = 1;
  plan.uplink_every = Span::of_s(30);
  Scene scene(plan);
  std::vector<ControllerIndex> questions;
  for (int t = 0; t <= 3000; ++t) {
    const bool alone = t >= 1500;  // The own link is down: nothing comes, nobody answers.
    if (t % 60 == 0 && t <= 600) scene.hear(t, "main");
    if (t % 60 == 0 && !alone) scene.hear(t + 0.1, "other");
    if (t % 30 == 0) scene.feed(t + 0.2, UplinkResult{ReferenceIndex{0}, !alone || t < 1520});
    scene.feed(t + 0.3, Tick{});
    questions.clear();
    scene.watch.take_questions(questions);
    for (const ControllerIndex it : questions) {
      scene.feed(t + 0.4, WitnessReachable{WitnessIndex{0}, !alone});
      if (!alone) scene.feed(t + 0.4, WitnessWord{WitnessIndex{0}, it, Span::of_s(10)});
    }
    for (const ControllerIndex it : questions) scene.feed(t + 0.5, WitnessesHeardOut{it});
  }
  CHECK(scene.told() == "");
}

TEST_CASE(
    "asking: the silence of one that is heard only through others is theirs while they are gone") {
  WatchPlan plan = asking_plan(2);
  Scene scene(plan);
  const auto relay = [&](double time, const char* id) {
    CheckIn check_in;
    check_in.controller = scene.index(id);
    check_in.relayed = true;
    scene.feed(time, check_in);
  };
  std::vector<ControllerIndex> questions;
  const auto run = [&](double from, double until, bool answered) {
    for (double time = from; time <= until; time += 1) {
      if (static_cast<int>(time) % 60 == 0) {
        if (time <= 600) relay(time, "main");
        if (time <= 600) relay(time, "logger");
        scene.hear(time, "other");
      }
      scene.feed(time, Tick{});
      questions.clear();
      scene.watch.take_questions(questions);
      for (const ControllerIndex it : questions) {
        scene.feed(time, WitnessReachable{WitnessIndex{0}, answered});
        if (answered)
          scene.feed(time, WitnessWord{WitnessIndex{0}, it, Span::of_seconds(time - 600)});
        scene.feed(time, WitnessesHeardOut{it});
      }
    }
  };
  run(0, 5000, false);
  CHECK(scene.decisions().empty());
  CHECK_FALSE(scene.watch.vouched(scene.index("main")));
  run(5001, 5600, true);  // Back, and it does not hear it either.
  REQUIRE(scene.decisions().size() == 1);
  CHECK(scene.told().find("loss site elm") != std::string::npos);
}
