#include "advice/forecast.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace ebbwatch;
using namespace ebbwatch::advice;

namespace {

Measure measured(double days, std::initializer_list<double> silences_s, std::uint64_t lost = 0) {
  Measure measure = nothing_measured("lagoon-main", Span::of_min(1));
  measure.watched = Span::of_seconds(days * 86'400);
  measure.heard = measure.expected = static_cast<std::uint64_t>(days * 1440);
  measure.lost = lost;
  for (const double s : silences_s) measure.silences.add(Span::of_seconds(s));
  return measure;
}

}  // namespace

// Exact limits of a Poisson mean (Garwood 1936), 95 % one-sided; values as printed in common tables
// (half of the chi-square quantile with 2k + 2 and 2k degrees of freedom), from memory.
TEST_CASE("forecast: limits of a Poisson count, none seen gives the rule of three") {
  CHECK(poisson_at_most(0) == doctest::Approx(2.9957).epsilon(1e-4));
  CHECK(poisson_at_most(1) == doctest::Approx(4.7439).epsilon(1e-4));
  CHECK(poisson_at_most(5) == doctest::Approx(10.5130).epsilon(1e-4));
  CHECK(poisson_at_most(10) == doctest::Approx(16.9622).epsilon(1e-4));
  CHECK(poisson_at_least(0) == 0);
  CHECK(poisson_at_least(1) == doctest::Approx(0.0513).epsilon(1e-3));
  CHECK(poisson_at_least(10) == doctest::Approx(5.4254).epsilon(1e-4));
  for (const std::uint64_t seen : {299, 300, 100'000}) {
    CHECK(poisson_at_most(seen) > static_cast<double>(seen));
    CHECK(poisson_at_least(seen) < static_cast<double>(seen));
  }
  CHECK(std::fabs(poisson_at_most(299) - poisson_at_most(300)) < 2);
}

TEST_CASE("forecast: silences longer than the delay count, a year of them") {
  const Measure measure = measured(365, {90, 200, 400, 400, 1000, 2000});
  CHECK(false_alarms(measure, Span::of_s(300)).seen == 4);
  CHECK(false_alarms(measure, Span::of_s(300)).a_year == doctest::Approx(4));
  CHECK(false_alarms(measure, Span::of_s(1200)).a_year == doctest::Approx(1));
  CHECK(*false_alarms(measure, Span::of_s(3000)).at_most == doctest::Approx(2.9957).epsilon(1e-4));
}

TEST_CASE("forecast: chance runs of single losses go on where nothing was seen") {
  // Interval 60 s, p 0.05, three missed in a row: one per 5.847953 days (reference value of the
  // closed form, computed independently).
  Measure measure = measured(30, {});
  measure.expected = 10'000'000;
  measure.lost = 500'000;
  CHECK(false_alarms(measure, Span::of_s(120)).a_year ==
        doctest::Approx(365 / 5.847953).epsilon(1e-3));
}

TEST_CASE("forecast: without a week of history start values serve, without limits") {
  const FalseAlarms none = false_alarms(nothing_measured("a", Span::of_min(1)), Span::of_s(300));
  CHECK(none.a_year == doctest::Approx(0.5 * std::exp(-1) * 365).epsilon(1e-6));
  CHECK_FALSE(none.at_most.has_value());
  CHECK(false_alarms(measured(8, {}), Span::of_s(300)).at_most.has_value());
}

TEST_CASE("forecast: longer delays never give more false alarms, the delay for a rate gives it") {
  const Measure measure = measured(400, {100, 150, 300, 500, 800, 1500, 1800}, 3000);
  double before = 1e300;
  for (int s = 60; s <= 3600; s += 7) {
    const double now = false_alarms(measure, Span::of_s(s)).a_year;
    CHECK(now <= before);
    before = now;
  }
  const auto delay = delay_for(measure, Rate{2, Rate::Per::year});
  REQUIRE(delay.has_value());
  CHECK(false_alarms(measure, *delay).a_year <= 2);
  CHECK(delay->seconds() > 800);
  CHECK(delay->seconds() < 1000);
}

TEST_CASE("forecast: silences are kept to within a step, never counted as shorter") {
  Silences silences;
  for (int s = 1; s < 3600; ++s) silences.add(Span::of_s(s));
  for (int s = 1; s < 3600; s += 13) {
    const auto longer = static_cast<double>(silences.longer_than(Span::of_s(s)));
    CHECK(longer >= 3600 - s - 1);
    CHECK(longer <= 3600 - s / 1.045 + 1);
  }
  CHECK(silences.count() == 3599);
  silences.add(Span::of_days(400));
  CHECK(silences.longer_than(Span::of_days(500)) == 1);
}
