// Tables of the papers and standards that each case names, computed with an independent
// implementation of their formulas.
#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "core/qos.h"
#include "core/steadiness.h"
#include "literature/belief.h"
#include "literature/bursts.h"
#include "literature/suspicion.h"

using namespace ebbwatch;
using namespace ebbwatch::bench;

namespace {

constexpr double day_s = 86400;

bool near(double value, double wanted, double relative = 1e-6) {
  return std::fabs(value - wanted) <= relative * std::fabs(wanted);
}

}  // namespace

// Chen, Toueg, Aguilera 2002, with independent loss: days between false verdicts.
TEST_CASE("so many missed in a row: the whole table") {
  struct Row {
    double eta, loss;
    std::vector<double> days;
  };
  const std::vector<Row> rows{{60, .01, {.070146, 7.014590, 701.459035, 70145.903, 7.01e6}},
                              {60, .05, {.014620, .292398, 5.847953, 116.959064, 2339.181287}},
                              {300, .05, {.073099, 1.461988, 29.239766, 584.795322, 11695.906433}}};
  for (const Row& row : rows) {
    for (std::size_t missed = 1; missed <= row.days.size(); ++missed) {
      CAPTURE(missed);
      const double days = qos::between_mistakes_s(row.eta, row.loss, static_cast<int>(missed));
      // Small and rounded table entries carry fewer digits.
      const double digits = row.days[missed - 1] < 1 ? 4e-5 : missed == 5 ? 1e-3 : 1e-6;
      CHECK(near(days / day_s, row.days[missed - 1], digits));
    }
  }
}

TEST_CASE("SWIM: mean number of periods to the first detection") {
  CHECK(near(mean_periods_to_detection(1), 1.581977));
  CHECK(near(mean_periods_to_detection(.5), 2.541494));
}

// Dadgar, Phillips, Currey 2018, section IV.
TEST_CASE("Lifeguard: confirmations shorten a suspicion") {
  const std::vector<double> quick{60, 35, 20.375937, 10};
  const std::vector<double> slow{600, 360, 219.609, 120};
  for (int c = 0; c <= 3; ++c) {
    CHECK(near(suspicion_timeout({10, 60, 3}, c), quick[static_cast<std::size_t>(c)]));
    CHECK(near(suspicion_timeout({120, 600, 3}, c), slow[static_cast<std::size_t>(c)]));
  }
  CHECK(suspicion_timeout({10, 60, 3}, 50) == 10);
}

TEST_CASE("Lifeguard: local health stretches every wait from one to eight times") {
  LocalHealth health;
  for (int level = 1; level <= 8; ++level) {
    CHECK(health.scaled(1) == level);
    health.add(1);
  }
  CHECK(health.scaled(1) == 8);
  for (int i = 0; i < 20; ++i) health.add(-1);
  CHECK(health.scaled(1) == 1);
}

// RFC 5880 sections 6.8.4 and 6.8.7; the first value is also that of a packet in the tests of a
// public packet decoder.
TEST_CASE("BFD: detection time and jittered gaps") {
  CHECK(bfd_detection_time(3, 300, 1000) == 3000);
  CHECK(bfd_detection_time(5, 60, 60) == 300);
  CHECK(bfd_gaps(5, 60).shortest == doctest::Approx(45));
  CHECK(bfd_gaps(5, 60).longest == doctest::Approx(60));
  CHECK(bfd_gaps(1, 60).shortest == doctest::Approx(45));
  CHECK(bfd_gaps(1, 60).longest == doctest::Approx(54));
}

// RFC 2439 figure of merit: half-life 900 s, 1000 for each loss.
TEST_CASE("damping: losses each five minutes within a limit of 2000") {
  const Steadiness rules{Span::of_s(900), 1000, 2000, 750, Span::of_s(3600)};
  FigureOfMerit figure;
  const std::vector<double> wanted{1000, 1793.700526, 2423.661051};
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    const Instant at = Instant::of_seconds(300.0 * static_cast<double>(i));
    figure.add(at, rules);
    CHECK(near(figure.at(at, rules), wanted[i]));
    CHECK(figure.unsteady() == (i == 2));
  }
  CHECK(near(figure.reuse_at(Instant::of_seconds(600), rules).seconds(), 2123.002906));
}

TEST_CASE("damping: how long until a figure falls to the limit of reuse") {
  const Span half_life = Span::of_s(900);
  CHECK(near(decayed(3000, Span::of_s(1800), half_life), 750));
  CHECK(near(decayed(12000, Span::of_s(3600), half_life), 750));
}

TEST_CASE("damping: the steady peak of losses at equal gaps") {
  struct Row {
    double gap_s, peak;
  };
  const std::vector<Row> rows{{60, 22144.276294}, {120, 11327.913346}, {300, 4847.322102},
                              {600, 2702.414384}, {900, 2000},         {1800, 1333.333333},
                              {3600, 1066.666667}};
  // A ceiling that is never reached.
  const Steadiness rules{Span::of_s(900), 1000, 50000, 750, Span::of_h(24)};
  for (const Row& row : rows) {
    CAPTURE(row.gap_s);
    FigureOfMerit figure;
    for (int i = 0; i < 1000; ++i) figure.add(Instant::of_seconds(row.gap_s * i), rules);
    CHECK(near(figure.at(Instant::of_seconds(row.gap_s * 999), rules), row.peak));
  }
}

TEST_CASE("damping: the longest gap at which losses ever reach a limit") {
  struct Row {
    double suppress, gap_s;
  };
  for (const Row& row : std::vector<Row>{{3000, 526.466251}, {6000, 236.730965}}) {
    const Steadiness rules{Span::of_s(900), 1000, row.suppress, 750, Span::of_h(24)};
    for (const double off : {-0.5, 0.5}) {
      FigureOfMerit figure;
      for (int i = 0; i < 2000; ++i) figure.add(Instant::of_seconds((row.gap_s + off) * i), rules);
      CHECK(figure.unsteady() == (off < 0));
    }
  }
}

// Quan, Heidemann, Pradkin 2013.
TEST_CASE("Trinocular: belief after probes without a reply") {
  struct Row {
    double availability;
    std::vector<double> beliefs;
  };
  const std::vector<Row> rows{{.5, {.818758, .693956, .532307, .363579, .222849, .125823, .067378}},
                              {.9, {.47465, .083158}}};
  for (const Row& row : rows) {
    const AnswerChances chances = trinocular_chances(row.availability, 256);
    double belief = .9;
    for (const double wanted : row.beliefs) {
      belief = belief_after(belief, false, chances);
      CHECK(near(belief, wanted, 1e-5));
    }
    CHECK(misses_until(.9, .1, chances, 15) == static_cast<int>(row.beliefs.size()));
  }
  double slow = .9;
  for (int i = 0; i < 12; ++i) slow = belief_after(slow, false, trinocular_chances(.2, 256));
  CHECK(near(slow, .393171, 2e-6));
  CHECK(near(belief_after(.5, true, trinocular_chances(.5, 256)), .992324986));
}

TEST_CASE("Trinocular: for check-ins, a controller that often misses asks for more misses") {
  struct Row {
    double missed, start;
    std::vector<double> beliefs;
  };
  const std::vector<Row> rows{
      {.05, .999, {.980372915, .714081487, .111012335, .006205007}},
      {.05, .99, {.831932773, .198396794, .012223731}},
      {.2, .999, {.995019920, .975585938, .888790036, .615147783, .242240543, .060093840}},
      {.01, .999, {.909008189, .090826439}}};
  for (const Row& row : rows) {
    CAPTURE(row.missed);
    const AnswerChances chances{1 - row.missed, 0};
    double belief = row.start;
    for (const double wanted : row.beliefs) {
      belief = belief_after(belief, false, chances);
      CHECK(near(belief, wanted));
    }
    CHECK(misses_until(row.start, .1, chances, 100) == static_cast<int>(row.beliefs.size()));
    CHECK(belief_after(belief, true, chances) == 1);
  }
}

// Kleinberg 2002.
TEST_CASE("bursts: five events within two minutes among hourly ones are one burst") {
  const std::vector<double> times{0, 3600, 7300, 10800, 10830, 10845, 10870, 10900, 14500, 18000};
  const std::vector<int> wanted{0, 0, 0, 1, 1, 1, 1, 0, 0};
  const Bursts mild = find_bursts(times, {2, 1, 2});
  CHECK(mild.states == wanted);
  CHECK(near(mild.cost, 76.882758));
  const Bursts sharp = find_bursts(times, {10, 1, 2});
  CHECK(sharp.states == wanted);
  CHECK(near(sharp.cost, 70.845006));
}

// Poisson law: N tanks with lambda losses a day each, window w.
TEST_CASE("coincidences: windows a year with three or more losses by accident") {
  struct Row {
    double tanks, rate, window, mu, two, three, windows;
  };
  const std::vector<Row> rows{{50, .11, 300, .019097222, 1.800469e-4, 1.144305e-6, .120289},
                              {50, .9, 300, .156250, 1.100697e-2, 5.657382e-4, 59.470395},
                              {500, .11, 300, .190972222, 1.607170e-2, 1.006598e-3, 105.813530},
                              {500, .11, 60, .038194444, 7.110982e-4, 9.024445e-6, 4.743248}};
  for (const Row& row : rows) {
    CAPTURE(row.mu);
    const double mu = row.tanks * row.rate * row.window / day_s;
    CHECK(near(mu, row.mu));
    CHECK(near(qos::chance_of_at_least(2, mu), row.two));
    CHECK(near(qos::chance_of_at_least(3, mu), row.three));
    const double windows = qos::chance_of_at_least(3, mu) * 365 * day_s / row.window;
    CHECK(near(windows, row.windows, 5e-6));
  }
}
