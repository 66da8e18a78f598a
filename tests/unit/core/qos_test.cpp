#include "core/qos.h"
#include "unit/core/world.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

using namespace ebbwatch;

namespace {

constexpr double day_s = 86400;
constexpr double year_s = 365 * day_s;

bool near(double value, double wanted, double relative = 1e-6) {
  return std::fabs(value - wanted) <= relative * std::fabs(wanted);
}

qos::Channel channel(double loss, double mean_s) {
  return {loss, qos::exponential(mean_s), mean_s};
}

}  // namespace

// Formulas: Chen, Toueg, Aguilera 2002 (NFD-S). Values computed with an independent implementation
// of the same formulas; the last row was also found by a simulation of 2,000,000 messages.
TEST_CASE("qos: NFD-S with exponential delay gives the table of check values") {
  struct Row {
    double eta, delta, loss, mean;
    int k;
    double u0, q0, tmr, tm, pa;
  };
  const std::vector<Row> rows{
      {60, 90, .05, 1, 2, 2.5e-3, .95, 25263.157895, 34.157895, .998647916667},
      {60, 150, .05, 1, 3, 1.25e-4, .95, 505263.157894, 34.157895, .999932395833},
      {60, 240, .05, 1, 4, 6.25e-6, .95, 10105263.157895, 4.157895, .999999588542},
      {30, 75, .02, .5, 3, 8e-6, .98, 3826530.612227, 16.112245, .999995789333},
      {10, 20, .01, .02, 2, 1e-4, .99, 101010.101010, .121010, .999998802000},
      {1, .7, .1, .3, 1, .1872747711, .896886560, 5.953649, .494722, .916904363898}};
  for (const Row& row : rows) {
    CAPTURE(row.eta);
    CAPTURE(row.delta);
    const auto found = qos::quality({row.eta, row.delta}, channel(row.loss, row.mean));
    CHECK(found.slots == row.k);
    CHECK(near(found.suspect_at_start, row.u0));
    CHECK(near(found.in_time, row.q0));
    CHECK(near(found.between_mistakes_s, row.tmr));
    CHECK(near(found.mistake_s, row.tm, 5e-6));  // The table has six decimals.
    CHECK(near(found.accuracy, row.pa, 1e-9));
    CHECK(found.detection_s == doctest::Approx(row.eta + row.delta));
  }
}

// The same by a simulation of the detector itself (Chen, Toueg, Aguilera 2002, figure 6): at each
// freshness point tau_i it suspects when no message i or later has come.
TEST_CASE("qos: simulated mistakes recur as the formula says, within three standard errors") {
  struct Row {
    double eta, delta, loss, mean;
  };
  for (const Row& row : {Row{1, .7, .1, .3}, Row{60, 90, .05, 1}}) {
    CAPTURE(row.eta);
    test::Draw draw(7);
    constexpr std::size_t messages = 400'000;
    const double never = std::numeric_limits<double>::infinity();
    std::vector<double> arrival(messages);
    for (std::size_t i = 0; i < messages; ++i) {
      const double delay = -row.mean * std::log(1 - draw.share());
      arrival[i] = draw.chance(row.loss) ? never : static_cast<double>(i) * row.eta + delay;
    }
    // The first that comes of those numbered i or more.
    std::vector<double> first(messages + 1, never);
    for (std::size_t i = messages; i-- > 0;) first[i] = std::min(arrival[i], first[i + 1]);
    double last = -1;
    double sum = 0;
    double squares = 0;
    double count = 0;
    for (std::size_t i = 1; i + 10 < messages; ++i) {
      const double tau = static_cast<double>(i) * row.eta + row.delta;
      if (first[i] <= tau || first[i - 1] > tau) continue;
      if (last >= 0) {
        sum += tau - last;
        squares += (tau - last) * (tau - last);
        ++count;
      }
      last = tau;
    }
    REQUIRE(count > 500);
    const double mean = sum / count;
    const double error = std::sqrt((squares / count - mean * mean) / count);
    const auto wanted = qos::quality({row.eta, row.delta}, channel(row.loss, row.mean));
    CHECK(std::fabs(mean - wanted.between_mistakes_s) < 3 * error);
  }
}

TEST_CASE("qos: so many missed in a row is the special case with a closed form") {
  // Days between false verdicts, computed from the formula (independent implementation).
  CHECK(near(qos::between_mistakes_s(60, .01, 3) / day_s, 701.459035));
  CHECK(near(qos::between_mistakes_s(60, .05, 5) / day_s, 2339.181287));
  CHECK(near(qos::between_mistakes_s(300, .05, 1) / day_s, .073099, 1e-5));
  CHECK(near(qos::between_mistakes_s(300, .05, 4) / day_s, 584.795322));
}

// E1 is the worked example of Chen, Toueg, Aguilera 2002 (published eta 9.97, delta 20.03); the
// others are computed with an independent implementation of the paper's procedures.
TEST_CASE("qos: configuration from a known delay law, examples E1, E4, E6 and E8") {
  struct Row {
    qos::Wish wish;
    double loss, mean, eta_max, eta, delta;
  };
  const std::vector<Row> rows{{{30, 2592000, 60}, .01, .02, 30, 9.976436, 20.023564},
                              {{300, year_s, 120}, .02, .5, 117.6, 74.844612, 225.155388},
                              {{180, 90 * day_s, 120}, .05, 1, 114, 35.946926, 144.053074},
                              // The trap of the saw-tooth: a plain bisection ends at 99.945926.
                              {{300, 350000, 260}, .02, .5, 254.8, 148.400679, 151.599321}};
  for (const Row& row : rows) {
    CAPTURE(row.eta);
    const auto found = qos::configure(row.wish, channel(row.loss, row.mean));
    REQUIRE(found.has_value());
    CHECK(near(found->interval_max_s, row.eta_max));
    CHECK(near(found->detector.interval_s, row.eta, 1e-5));
    CHECK(near(found->detector.shift_s, row.delta, 1e-5));
  }
}

TEST_CASE("qos: configuration from moments, examples E2, E3, E5 and E7") {
  struct Row {
    qos::Wish wish;
    double loss, mean, variance, eta_max, eta, delta;
  };
  const std::vector<Row> rows{
      {{30, 2592000, 60}, .01, .02, .0004, 29.98, 9.954531, 20.045469},
      {{30, 2592000, 60}, .01, .02, .02, 29.98, 9.709804, 20.290196},
      {{30, 2592000, 60}, .01, 0, .0004, 30, 9.961216, 20.038784},
      {{30, 2592000, 60}, .01, 0, .02, 30, 9.716616, 20.283384},
      {{900, year_s, 600}, .05, 2, 100, 569.929325, 178.691098, 721.308902}};
  for (const Row& row : rows) {
    CAPTURE(row.eta);
    const auto found = qos::configure(row.wish, row.loss, row.mean, row.variance);
    REQUIRE(found.has_value());
    CHECK(near(found->interval_max_s, row.eta_max));
    CHECK(near(found->detector.interval_s, row.eta, 1e-5));
    CHECK(near(found->detector.shift_s, row.delta, 1e-5));
  }
  CHECK_FALSE(qos::configure({1.5, year_s, 600}, .05, 2, 100).has_value());
}

TEST_CASE("qos: the worst case over all delay laws bounds the exponential one") {
  // Computed with an independent implementation of the paper's bounds.
  const auto worst = qos::bounds({60, 150}, .05, 1, 1);
  CHECK(near(worst.beta, 1.28236877e-4));
  CHECK(near(worst.gamma, .949978252));
  CHECK(near(worst.between_mistakes_s, 467884.134));
  CHECK(near(worst.mistake_s, 63.1593406));
  const auto exact = qos::quality({60, 150}, channel(.05, 1));
  CHECK(exact.between_mistakes_s >= worst.between_mistakes_s);
  CHECK(exact.mistake_s <= worst.mistake_s);
}

TEST_CASE("qos: chance coincidences by the Poisson law") {
  // N tanks, lambda losses a day each, window w: mu = N * lambda * w / 86400 (computed
  // independently).
  const auto mu = [](double n, double lambda, double w) { return n * lambda * w / day_s; };
  CHECK(near(qos::chance_of_at_least(2, mu(50, .11, 300)), 1.800469e-4));
  CHECK(near(qos::chance_of_at_least(3, mu(50, .11, 300)), 1.144305e-6));
  CHECK(near(qos::chance_of_at_least(2, mu(50, .9, 300)), 1.100697e-2));
  CHECK(near(qos::chance_of_at_least(3, mu(500, .11, 300)), 1.006598e-3));
  CHECK(near(qos::chance_of_at_least(3, mu(500, .11, 60)), 9.024445e-6));
}

TEST_CASE("qos: without loss and delay there are no mistakes") {
  const auto found = qos::quality({60, 90}, {0, [](double s) { return s <= 0 ? 1.0 : 0.0; }, 1});
  CHECK(std::isinf(found.between_mistakes_s));
  CHECK(found.mistake_s == 0);
  CHECK(found.accuracy == doctest::Approx(1));
}
