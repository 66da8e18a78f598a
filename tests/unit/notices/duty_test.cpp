// Hours, stand-ins, and what is told to whom because of them.
#include <doctest/doctest.h>

#include "notices/desk_bench.h"
#include "notices/duty.h"

using namespace ebbwatch;
using sample::DeskBench;

namespace {

// two_o_clock is Sunday, 22 February 2026, 14:00 UTC.
HoursSettings shop_hours() {
  HoursSettings hours;
  hours.id = "shop";
  hours.windows = {{{0, 1, 2, 3, 4}, 9 * 60, 18 * 60}, {{5}, 10 * 60, 14 * 60}};
  return hours;
}
HoursSettings nights() {
  HoursSettings hours;
  hours.id = "nights";
  hours.windows = {{{0, 1, 2, 3, 4, 5, 6}, 22 * 60, 6 * 60}};
  return hours;
}
Settings with_hours() {
  Settings all = sample::settings();
  all.hours = {shop_hours(), nights()};
  return all;
}
WallTime at(int day, int hour, int minute) {  // February 2026
  return {day_of(2026, 2, static_cast<unsigned>(day)) * 86'400'000'000 +
          (hour * 60 + minute) * std::int64_t{60'000'000}};
}
bool open(const Settings& settings, const char* hours, WallTime when) {
  return is_open(settings, {hours}, when);
}

}  // namespace

TEST_CASE("hours: days and times, the end not included") {
  const Settings all = with_hours();
  CHECK_FALSE(open(all, "shop", at(22, 14, 0)));  // Sunday
  CHECK_FALSE(open(all, "shop", at(23, 8, 59)));  // Monday
  CHECK(open(all, "shop", at(23, 9, 0)));
  CHECK(open(all, "shop", at(23, 17, 59)));
  CHECK_FALSE(open(all, "shop", at(23, 18, 0)));
  CHECK(open(all, "shop", at(28, 13, 0)));  // Saturday
  CHECK_FALSE(open(all, "shop", at(28, 14, 0)));
}

TEST_CASE("hours: a night belongs to the day on which it begins") {
  Settings all = with_hours();
  all.hours[1].windows = {{{4}, 22 * 60, 6 * 60}};  // Friday night
  CHECK_FALSE(open(all, "nights", at(27, 21, 59)));
  CHECK(open(all, "nights", at(27, 22, 0)));
  CHECK(open(all, "nights", at(28, 5, 59)));
  CHECK_FALSE(open(all, "nights", at(28, 6, 0)));
  CHECK_FALSE(open(all, "nights", at(28, 23, 0)));
}

TEST_CASE("hours: nothing begins on a holiday, and what began before goes on") {
  Settings all = with_hours();
  all.hours[0].closed_on = {day_of(2026, 2, 23)};
  all.hours[1].closed_on = {day_of(2026, 2, 23)};
  CHECK_FALSE(open(all, "shop", at(23, 12, 0)));
  CHECK(open(all, "shop", at(24, 12, 0)));
  CHECK(open(all, "nights", at(23, 2, 0)));
  CHECK_FALSE(open(all, "nights", at(23, 23, 0)));
  CHECK_FALSE(open(all, "nights", at(24, 2, 0)));
}

TEST_CASE("hours: the next change") {
  const Settings all = with_hours();
  const auto next = [&](const std::vector<std::string>& hours, WallTime when) {
    const auto found = next_change(all, hours, when);
    REQUIRE(found);
    return found->us;
  };
  CHECK(next({"shop"}, at(22, 14, 0)) == at(23, 9, 0).us);
  CHECK(next({"shop"}, at(23, 9, 0)) == at(23, 18, 0).us);
  CHECK(next({"shop"}, at(27, 18, 0)) == at(28, 10, 0).us);
  CHECK(next({"nights"}, at(22, 23, 0)) == at(23, 6, 0).us);
  // Of two sets together: where one ends and the other has begun nothing changes.
  Settings both = all;
  both.hours[1].windows[0].from = 17 * 60;
  CHECK(next_change(both, {"shop", "nights"}, at(23, 12, 0))->us == at(24, 6, 0).us);
  CHECK_FALSE(next_change(all, {}, at(22, 14, 0)));
  CHECK_FALSE(next_change(all, {"nobody-knows"}, at(22, 14, 0)));
}

TEST_CASE("hours: a list gives way to another one outside them") {
  Settings all = with_hours();
  all.call_lists[0].hours = {"shop"};
  CHECK(lists_used(all, {"everyday", "oak"}, at(22, 14, 0)) ==
        std::vector<std::string>{"everyday", "oak"});
  all.call_lists[0].otherwise = "oak";
  CHECK(lists_used(all, {"everyday", "oak"}, at(22, 14, 0)) == std::vector<std::string>{"oak"});
  CHECK(lists_used(all, {"everyday"}, at(23, 12, 0)) == std::vector<std::string>{"everyday"});
  all.call_lists[1].hours = {"shop"};
  all.call_lists[1].otherwise = "everyday";  // Each names the other.
  CHECK(lists_used(all, {"everyday"}, at(22, 14, 0)).size() == 1);
}

TEST_CASE("hours: a loss at night goes to the list for nights") {
  Settings all = with_hours();
  all.call_lists[0].hours = {"shop"};
  all.call_lists[0].otherwise = "oak";
  DeskBench bench(all);  // Sunday
  bench.decide(DecisionKind::loss);
  CHECK(bench.send() == "text>kim loss");
}

TEST_CASE("hours: when they end while nobody has answered, the other list joins") {
  Settings all = with_hours();
  all.call_lists[0].hours = {"shop"};
  all.call_lists[0].otherwise = "oak";
  all.call_lists[0].repeat_every.reset();
  DeskBench bench(all);
  bench.now = at(23, 17, 50);
  bench.decide(DecisionKind::loss);
  CHECK(bench.send() == "text>robin loss");
  bench.delivered("text>robin loss");
  bench.pass(Span::of_min(10));
  CHECK(bench.send() == "text>kim loss");

  DeskBench other(all);
  other.now = at(23, 17, 50);
  other.decide(DecisionKind::loss);
  (void)other.send();
  other.delivered("text>robin loss");
  other.acknowledge();
  other.pass(Span::of_min(60));
  CHECK(other.send() == "");
}

TEST_CASE("hours: who is off duty is passed over at once") {
  Settings all = with_hours();
  all.keyholders[0].hours = {"shop"};  // Robin
  DeskBench bench(all);                // Sunday
  bench.decide(DecisionKind::loss);
  CHECK(bench.send() == "text>sam loss");
}

TEST_CASE("hours: where nobody is on duty, everybody is told of a tank, whatever the hours") {
  Settings all = with_hours();
  for (KeyholderSettings& person : all.keyholders) person.hours = {"shop"};
  DeskBench bench(all);
  bench.decide(DecisionKind::loss);
  CHECK(bench.send() == "text>robin loss; text>sam loss");
}

TEST_CASE("hours: where those on duty cannot be reached, the others are told") {
  Settings all = with_hours();
  all.keyholders[0].hours = {"shop"};
  DeskBench bench(all);
  bench.decide(DecisionKind::loss);
  CHECK(bench.send() == "text>sam loss");
  bench.refuses("text>sam loss");
  CHECK(bench.send() == "text>robin loss");
}

TEST_CASE("hours: some of a tank's controllers wait until somebody is on duty") {
  Settings all = with_hours();
  for (KeyholderSettings& person : all.keyholders) person.hours = {"shop"};
  DeskBench bench(all);  // Sunday, 14:00
  bench.decide(DecisionKind::loss, {Scope::controller, 0});
  CHECK(bench.send() == "");
  bench.pass(Span::of_h(19) - Span::of_s(1));
  CHECK(bench.send() == "");
  bench.pass(Span::of_s(1));  // Monday, 09:00
  CHECK(bench.send() == "text>robin loss");
  CHECK(bench.flying[0].message.text.find("This was noticed at") != std::string::npos);
}

TEST_CASE("hours: the tank as a whole does not wait any more") {
  Settings all = with_hours();
  for (KeyholderSettings& person : all.keyholders) person.hours = {"shop"};
  DeskBench bench(all);
  bench.decide(DecisionKind::loss, {Scope::controller, 0});
  bench.pass(Span::of_min(5));
  bench.decide(DecisionKind::cause_revised, sample::tank(0));
  CHECK(bench.send() == "text>robin loss; text>sam loss");
}

TEST_CASE("stand-in: is called for the time, in chains, and never in a ring") {
  DeskBench bench;
  const std::vector<StandInRow> rows = {
      {"robin", "sam", bench.now, bench.now + Span::of_h(1), "robin", false},
      {"sam", "kim", bench.now, bench.now + Span::of_min(30), "sam", false}};
  const Duty duty(bench.settings, rows);
  CHECK(duty.in_place_of("robin", bench.now - Span::of_us(1)) == "robin");
  CHECK(duty.in_place_of("robin", bench.now) == "kim");
  CHECK(duty.in_place_of("robin", bench.now + Span::of_min(30)) == "sam");
  CHECK(duty.in_place_of("robin", bench.now + Span::of_h(1)) == "robin");
  const std::vector<StandInRow> ring = {
      {"robin", "sam", bench.now, bench.now + Span::of_h(1), "", false},
      {"sam", "robin", bench.now, bench.now + Span::of_h(1), "", false}};
  CHECK(Duty(bench.settings, ring).in_place_of("robin", bench.now) == "robin");
  CHECK(Duty(bench.settings, ring).in_place_of("sam", bench.now) == "sam");
}

TEST_CASE("stand-in: gets the loss, the later step and the recovery; the absent one nothing") {
  DeskBench bench;
  bench.desk->use({{"robin", "kim", bench.now, bench.now + Span::of_h(8), "robin", false}});
  bench.decide(DecisionKind::loss);
  CHECK(bench.send() == "text>kim loss");
  bench.delivered("text>kim loss");
  bench.pass(Span::of_min(15));
  CHECK(bench.send() == "text>sam loss");
  bench.delivered("text>sam loss");
  bench.decide(DecisionKind::recovery);
  CHECK(bench.send() == "text>kim recovery; text>sam recovery");
}

TEST_CASE("stand-in: whose time has ended is not called any more") {
  DeskBench bench;
  bench.desk->use({{"robin", "kim", bench.now, bench.now + Span::of_min(30), "robin", false}});
  bench.decide(DecisionKind::loss);
  (void)bench.send();
  bench.delivered("text>kim loss");
  bench.pass(Span::of_min(15));
  (void)bench.send();
  bench.delivered("text>sam loss");
  bench.pass(Span::of_h(1));  // The reminder.
  CHECK(bench.send() == "text>robin loss; text>sam loss");
}
