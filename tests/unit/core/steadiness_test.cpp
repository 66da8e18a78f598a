#include "core/steadiness.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace ebbwatch;

namespace {

/// Half-life 15 min, suppress as given, reuse 750, longest 60 min: the common set for routes.
Steadiness routes(double suppress) {
  return {Span::of_s(900), 1000, suppress, 750, Span::of_s(3600)};
}

Instant at(double seconds) {
  return Instant::of_seconds(seconds);
}

}  // namespace

// RFC 2439 (figure of merit with exponential decay); values computed independently from its
// formula.
TEST_CASE("steadiness: the penalty halves every half-life") {
  CHECK(decayed(1000, Span::of_s(60), Span::of_s(900)) ==
        doctest::Approx(954.841604).epsilon(1e-8));
  CHECK(decayed(1000, Span::of_s(300), Span::of_s(900)) ==
        doctest::Approx(793.700526).epsilon(1e-8));
  CHECK(decayed(1000, Span::of_s(900), Span::of_s(900)) == doctest::Approx(500));
  CHECK(decayed(1000, Span::of_s(3600), Span::of_s(900)) == doctest::Approx(62.5));
  const double once = decayed(1000, Span::of_s(500), Span::of_s(900));
  const double twice =
      decayed(decayed(1000, Span::of_s(200), Span::of_s(900)), Span::of_s(300), Span::of_s(900));
  CHECK(std::fabs(once - twice) < 1e-9);
}

TEST_CASE("steadiness: two pauses after each other decay as one of their sum") {
  const Span half_life = Span::of_min(15);
  for (const double t1 : {0.0, 1.0, 59.5, 900.0, 86400.0}) {
    for (const double t2 : {0.25, 333.0, 7200.0}) {
      const double once = decayed(6000, Span::of_seconds(t1 + t2), half_life);
      const double twice =
          decayed(decayed(6000, Span::of_seconds(t1), half_life), Span::of_seconds(t2), half_life);
      CHECK(std::fabs(once - twice) <= 1e-12 * 6000);
    }
  }
}

TEST_CASE("steadiness: losses at 0, 60 and 120 s suppress at the third, reuse at 1860.9 s") {
  const Steadiness rules = routes(2000);
  FigureOfMerit figure;
  figure.add(at(0), rules);
  CHECK(figure.at(at(0), rules) == doctest::Approx(1000));
  figure.add(at(60), rules);
  CHECK(figure.at(at(60), rules) == doctest::Approx(1954.841604).epsilon(1e-8));
  CHECK_FALSE(figure.unsteady());
  figure.add(at(120), rules);
  CHECK(figure.at(at(120), rules) == doctest::Approx(2866.564092).epsilon(1e-8));
  CHECK(figure.unsteady());
  CHECK(figure.reuse_at(at(120), rules).seconds() == doctest::Approx(1860.924032).epsilon(1e-6));
  CHECK_FALSE(figure.settle(at(1860), rules));
  CHECK(figure.settle(at(1861), rules));
  CHECK_FALSE(figure.unsteady());
}

TEST_CASE("steadiness: losses each minute reach 6000 at the seventh, each five minutes never") {
  const Steadiness rules = routes(6000);
  FigureOfMerit quick;
  for (int i = 0; i <= 6; ++i) {
    quick.add(at(60.0 * i), rules);
    CHECK(quick.unsteady() == (i == 6));
  }
  CHECK(quick.at(at(360), rules) == doctest::Approx(6119.911361).epsilon(1e-8));
  FigureOfMerit slow;
  for (int i = 0; i < 500; ++i) slow.add(at(300.0 * i), rules);
  CHECK_FALSE(slow.unsteady());
  CHECK(slow.at(at(300.0 * 499), rules) == doctest::Approx(4847.322102).epsilon(1e-8));
}

TEST_CASE("steadiness: nothing is held longer than the longest time after its last loss") {
  const Steadiness rules = routes(2000);
  CHECK(ceiling_of(rules) == doctest::Approx(12000));
  FigureOfMerit figure;
  for (int i = 0; i < 1000; ++i) figure.add(at(i), rules);
  CHECK(figure.at(at(999), rules) <= 12000);
  CHECK(figure.reuse_at(at(999), rules).seconds() <= 999 + 3600.001);
}

TEST_CASE("steadiness: the slow set for tanks suppresses at the fourth loss within the hour") {
  const Steadiness rules;  // 1 h, 1000, 2500, 1000, 6 h
  FigureOfMerit figure;
  for (const double s : {0.0, 1200.0, 2400.0}) {
    figure.add(at(s), rules);
    CHECK_FALSE(figure.unsteady());
  }
  figure.add(at(3600), rules);
  CHECK(figure.at(at(3600), rules) == doctest::Approx(2923.661051).epsilon(1e-8));
  CHECK(figure.unsteady());
  CHECK(figure.reuse_at(at(3600), rules).seconds() == doctest::Approx(9171.993834).epsilon(1e-6));
  FigureOfMerit hourly;
  for (int i = 0; i < 100; ++i) hourly.add(at(3600.0 * i), rules);
  CHECK_FALSE(hourly.unsteady());
}

TEST_CASE("steadiness: settings under which nothing is ever suppressed are not usable") {
  Steadiness rules = routes(2000);
  CHECK(usable(rules));
  rules.suppress = 12001;
  CHECK_FALSE(usable(rules));
  rules = routes(700);
  CHECK_FALSE(usable(rules));
  FigureOfMerit figure;
  figure.add(at(0), rules);
  CHECK(figure.at(at(0), rules) == 0);
}
