#include "notices/call_list.h"

#include <doctest/doctest.h>

#include "notices/sample.h"

using namespace ebbwatch;

namespace {

constexpr WallTime start = sample::two_o_clock;

CallState call_state() {
  CallState state;
  state.outage = 17;
  state.started_at = start;
  (void)join_lists(state, {"everyday"}, start);
  return state;
}

std::string text(const std::optional<CallTurn>& turn) {
  if (!turn) return "nobody";
  std::string line = std::string(word(turn->occasion)) + " " + std::to_string(turn->round) + ":";
  for (const Call& call : turn->calls) {
    line += " " + call.keyholder + " by";
    for (const std::string& way : call.by) line += " " + way;
    line += ";";
  }
  return line;
}

}  // namespace

TEST_CASE("call list: the first step is due at once, the next after its delay") {
  const Settings settings = sample::settings();
  CallState state = call_state();
  CHECK(text(take_turn(state, settings, start)) == "first 0: robin by text mail;");
  CHECK(text(take_turn(state, settings, start)) == "nobody");
  CHECK(next_turn_at(state, settings)->us == (start + Span::of_min(15)).us);
  CHECK(text(take_turn(state, settings, start + Span::of_min(15) - Span::of_us(1))) == "nobody");
  CHECK(text(take_turn(state, settings, start + Span::of_min(15))) == "later_step 0: sam by text;");
}

TEST_CASE("call list: everybody is told again at most so often, counted from the last step") {
  const Settings settings = sample::settings();
  CallState state = call_state();
  const WallTime last_step = start + Span::of_min(15);
  while (take_turn(state, settings, last_step)) {
  }
  const std::string all = " robin by text mail; sam by text;";
  CHECK(next_turn_at(state, settings)->us == (last_step + Span::of_h(1)).us);
  CHECK(text(take_turn(state, settings, last_step + Span::of_h(1))) == "reminder 1:" + all);
  CHECK(text(take_turn(state, settings, last_step + Span::of_h(2))) == "reminder 2:" + all);
  CHECK_FALSE(next_turn_at(state, settings));
  CHECK(text(take_turn(state, settings, last_step + Span::of_h(9))) == "nobody");
}

TEST_CASE("call list: reminders missed while the daemon was off are not made up one by one") {
  const Settings settings = sample::settings();
  CallState state = call_state();
  while (take_turn(state, settings, start + Span::of_min(15))) {
  }
  CHECK(take_turn(state, settings, start + Span::of_h(9))->occasion == Occasion::reminder);
  CHECK(text(take_turn(state, settings, start + Span::of_h(9))) == "nobody");
}

TEST_CASE("call list: an acknowledgement or a recovery stops it at every point") {
  const Settings settings = sample::settings();
  for (int turns = 0; turns < 5; ++turns) {
    for (bool by_recovery : {false, true}) {
      CallState state = call_state();
      for (int i = 0; i < turns; ++i) (void)take_turn(state, settings, start + Span::of_h(1 + i));
      (by_recovery ? state.closed : state.acknowledged) = true;
      CHECK_FALSE(next_turn_at(state, settings));
      CHECK(text(take_turn(state, settings, start + Span::of_days(9))) == "nobody");
      CHECK(text(take_step_early(state, settings)) == "nobody");
    }
  }
}

TEST_CASE("call list: the next step can be taken early, once") {
  const Settings settings = sample::settings();
  CallState state = call_state();
  (void)take_turn(state, settings, start);
  CHECK(text(take_step_early(state, settings)) == "later_step 0: sam by text;");
  CHECK(text(take_step_early(state, settings)) == "nobody");
  CHECK(text(take_turn(state, settings, start + Span::of_min(15))) == "nobody");
}

TEST_CASE(
    "call list: a list that joins later counts its steps from then and ends the acknowledgement") {
  const Settings settings = sample::settings();
  CallState state = call_state();
  (void)take_turn(state, settings, start);
  state.acknowledged = true;
  CHECK(join_lists(state, {"everyday", "oak"}, start + Span::of_min(5)));
  CHECK_FALSE(join_lists(state, {"oak"}, start + Span::of_min(6)));
  CHECK_FALSE(state.acknowledged);
  // From the first step again: the caller passes over whoever was told.
  CHECK(text(take_turn(state, settings, start + Span::of_min(5))) ==
        "first 0: robin by text mail;");
  CHECK(text(take_turn(state, settings, start + Span::of_min(5))) == "first 0: kim by text;");
  CHECK(text(take_turn(state, settings, start + Span::of_min(5))) == "nobody");
  CHECK(next_turn_at(state, settings)->us == (start + Span::of_min(15)).us);
}

TEST_CASE("call list: a list that does not exist, or no list at all, calls nobody") {
  const Settings settings = sample::settings();
  CallState state;
  state.started_at = start;
  CHECK_FALSE(next_turn_at(state, settings));
  (void)join_lists(state, {"nowhere"}, start);
  CHECK_FALSE(next_turn_at(state, settings));
  CHECK(first_calls(settings, {"nowhere"}).empty());
}

TEST_CASE("call list: the first moment of a list is every step as early as the first") {
  Settings settings = sample::settings();
  settings.call_lists[0].steps.push_back({Span{}, {"robin", "sam"}, {"hook"}});
  const std::vector<Call> calls = first_calls(settings, {"everyday"});
  REQUIRE(calls.size() == 2);
  CHECK(calls[0].by == std::vector<std::string>{"text", "mail", "hook"});
  CHECK(calls[1].by == std::vector<std::string>{"hook"});
}

TEST_CASE("call list: its row keeps everything") {
  const Settings settings = sample::settings();
  CallState state = call_state();
  (void)take_turn(state, settings, start);
  (void)join_lists(state, {"oak"}, start + Span::of_s(301));
  state.repeats = 1;
  state.acknowledged = true;
  state.acknowledged_by = "robin";
  const CallRow row = to_row(state, settings);
  CHECK(row.outage == 17);
  CHECK(row.call_list == "everyday,oak@301");
  const CallState back = from_row(row);
  REQUIRE(back.lists.size() == 2);
  CHECK(back.lists[1].id == "oak");
  CHECK(back.lists[1].joined_after.us == Span::of_s(301).us);
  CHECK(back.next_step == state.next_step);
  CHECK(back.repeats == 1);
  CHECK(back.started_at.us == start.us);
  CHECK(back.acknowledged);
  CHECK(back.acknowledged_by == "robin");
  CHECK_FALSE(back.closed);
}

TEST_CASE("call list: a row with an unreadable list keeps what can be read") {
  CallRow row;
  row.call_list = ",@5,everyday@x,oak@7";
  const CallState state = from_row(row);
  REQUIRE(state.lists.size() == 2);
  CHECK(state.lists[0].id == "everyday");
  CHECK(state.lists[0].joined_after.us == 0);
  CHECK(state.lists[1].joined_after.us == Span::of_s(7).us);
}
