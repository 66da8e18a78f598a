#include "report/performance.h"

#include <doctest/doctest.h>

#include "sample.h"

using namespace ebbwatch;
using namespace ebbwatch::report;

// The rule is that of ISA-18.2-2016: a flood begins with more than 10 alarms in ten minutes and
// ends with fewer than 5. The counts and what they give were worked out by hand.
TEST_CASE("performance: floods begin above ten and end below five") {
  const Floods it = find_floods({2, 12, 8, 5, 4, 1, 11, 3}, {});
  REQUIRE(it.floods.size() == 2);
  CHECK(it.floods[0].first_bin == 1);
  CHECK(it.floods[0].last_bin == 3);
  CHECK(it.floods[1].first_bin == 6);
  CHECK(it.floods[1].last_bin == 6);
  CHECK(it.bins_in_flood == 4);
  CHECK(it.alarms_inside == 36);
  CHECK(it.peak == 12);
  CHECK(it.bins_above == 2);
  CHECK(find_floods({10, 10, 10}, {}).floods.empty());
  const Floods one = find_floods({11, 5, 5, 4}, {});
  REQUIRE(one.floods.size() == 1);
  CHECK(one.floods[0].last_bin == 2);
}

TEST_CASE("performance: the share of the ten that make the most alarms") {
  CHECK(share_of_greatest({40, 9, 7, 6, 5, 4, 4, 3, 3, 2, 2, 2, 1, 1, 1, 1, 1, 1, 1, 1}, 10) ==
        doctest::Approx(0.87368421));
  CHECK(share_of_greatest({}, 10) == 0);
  CHECK(share_of_greatest({3}, 10) == 1);
}

TEST_CASE("performance: messages are counted for each person, answers for each outage") {
  const Performance it = performance_of(test::sample_month());
  CHECK(it.alarms == 2);
  REQUIRE(it.people.size() == 2);
  CHECK(it.people[0].person == "Robin");
  CHECK(it.people[0].messages == 2);
  CHECK(it.people[0].per_week == doctest::Approx(2 * 7.0 / 31));
  CHECK(it.people[0].most_in_ten_minutes == 1);
  CHECK(it.asked == 2);
  CHECK(it.acknowledged == 1);
  CHECK(it.acknowledged_middle == Span::of_min(4));
  CHECK(it.brief == 0);
  CHECK(it.standing == 0);
  CHECK(it.unsteady == 1);
  CHECK(it.loudest.empty());  // Two alarms are too few to blame anybody.
}

TEST_CASE("performance: six messages to one person in ten minutes are a flood") {
  Record record = test::sample_month();
  for (int i = 0; i < 6; ++i) {
    record.outages[0].notices.push_back(
        test::notice("Robin", test::at("05T14:10:00") + Span::of_min(i)));
  }
  CHECK(performance_of(record).people[0].floods.floods.size() == 1);
  record.outages[0].notices.pop_back();
  CHECK(performance_of(record).people[0].floods.floods.empty());
}

TEST_CASE("performance: the one subject with over half of the alarms is named") {
  Record record = test::sample_month();
  record.outages.push_back(record.outages[0]);
  record.outages.push_back(record.outages[0]);
  CHECK(performance_of(record).loudest == "site Elm Street");
  record.outages[0].name = record.outages[1].name = "Oak Street";
  CHECK(performance_of(record).loudest.empty());
}

TEST_CASE(
    "performance: losses that people marked as false are counted among those that were told") {
  Record record = test::sample_month();
  CHECK(performance_of(record).marked_false == 0);
  for (auto& outage : record.outages) outage.marked_false = true;
  CHECK(performance_of(record).marked_false == performance_of(record).alarms);
}
