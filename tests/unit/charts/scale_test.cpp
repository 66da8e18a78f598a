#include "charts/scale.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <random>

using namespace ebbwatch::charts;

namespace {

Extent extent_of(std::initializer_list<double> values) {
  Extent extent;
  for (const double value : values) extent.add(value);
  return extent;
}

std::string labels(const Scale& scale) {
  std::string all;
  for (const Tick& tick : scale.ticks()) all += (all.empty() ? "" : " | ") + tick.label;
  return all;
}

}  // namespace

TEST_CASE("scale: a linear axis is marked at round numbers and begins at nought when it can") {
  CHECK(labels({{"", Spacing::linear, Measure::number, {}, {}}, extent_of({3, 97}), 6}) ==
        "0 | 20 | 40 | 60 | 80 | 100");
  CHECK(labels({{"", Spacing::linear, Measure::number, {}, {}}, extent_of({24.1, 25.9}), 5}) ==
        "24 | 24.5 | 25 | 25.5 | 26");
  CHECK(labels({{"", Spacing::linear, Measure::number, {}, {}}, extent_of({-4, 3}), 5}) ==
        "-4 | -2 | 0 | 2 | 4");
}

TEST_CASE("scale: seconds are marked in minutes, hours and days") {
  CHECK(labels({{"", Spacing::linear, Measure::seconds, {}, {}}, extent_of({0, 1700}), 6}) ==
        "0 | 10 min | 20 min | 30 min");
  CHECK(labels({{"", Spacing::linear, Measure::seconds, {}, {}}, extent_of({0, 80000}), 5}) ==
        "0 | 6 h | 12 h | 18 h | 1 d");
  CHECK(
      labels({{"", Spacing::linear, Measure::seconds, {}, {}}, extent_of({0, 120 * 86400.0}), 5}) ==
      "0 | 30 d | 60 d | 90 d | 120 d");
  CHECK(labels({{"", Spacing::logarithmic, Measure::seconds, {}, {}}, extent_of({45, 7000}), 9}) ==
        "30 s | 1 min | 2 min | 5 min | 10 min | 30 min | 1 h | 3 h");
}

TEST_CASE("scale: a logarithmic axis is marked at powers, between them when it is short") {
  CHECK(labels({{"", Spacing::logarithmic, Measure::number, {}, {}}, extent_of({0.02, 700}), 7}) ==
        "0.01 | 0.1 | 1 | 10 | 100 | 1000");
  CHECK(labels({{"", Spacing::logarithmic, Measure::number, {}, {}}, extent_of({3, 40}), 7}) ==
        "2 | 5 | 10 | 20 | 50");
}

TEST_CASE("scale: nought has a place of its own at the foot of a logarithmic axis") {
  const Scale scale({"", Spacing::logarithmic, Measure::number, {}, {}}, extent_of({0, 1, 100}), 7);
  CHECK(labels(scale) == "0 | 1 | 10 | 100");
  CHECK(scale.place(0) == 0);
  CHECK(scale.place(-5) == 0);
  CHECK(scale.place(1) == doctest::Approx(0.08));
  CHECK(scale.place(100) == 1);
}

TEST_CASE("scale: the ends that were asked for are kept, values outside stand at them") {
  const Scale scale({"", Spacing::linear, Measure::number, 0, 10}, extent_of({3, 40}), 6);
  CHECK(labels(scale) == "0 | 2 | 4 | 6 | 8 | 10");
  CHECK(scale.place(40) == 1);
  CHECK(scale.place(-1) == 0);
}

TEST_CASE("scale: one value, none and monstrous ones give an axis all the same") {
  for (const Spacing spacing : {Spacing::linear, Spacing::logarithmic}) {
    for (const Measure measure : {Measure::number, Measure::seconds}) {
      for (const Extent& extent :
           {extent_of({}), extent_of({0}), extent_of({5}), extent_of({-3}),
            extent_of({std::numeric_limits<double>::max(), -std::numeric_limits<double>::max()}),
            extent_of({std::numeric_limits<double>::denorm_min(), 1e300}),
            extent_of({1, 1 + 1e-15}),
            extent_of({std::nan(""), std::numeric_limits<double>::infinity()})}) {
        const Scale scale({"", spacing, measure, {}, {}}, extent, 6);
        REQUIRE(scale.ticks().size() >= 2);
        for (const Tick& tick : scale.ticks()) {
          CHECK(tick.place >= 0);
          CHECK(tick.place <= 1);
          CHECK(tick.label.find("nan") == tick.label.npos);
          CHECK(tick.label.find("inf") == tick.label.npos);
        }
      }
    }
  }
}

TEST_CASE("scale: random extents give few marks, in order, that enclose the values") {
  std::mt19937_64 random(7);
  std::uniform_real_distribution<double> power(-6, 9), sign(-1, 1);
  for (int i = 0; i < 2000; ++i) {
    const double a = std::copysign(std::pow(10, power(random)), sign(random));
    const double b = std::copysign(std::pow(10, power(random)), sign(random));
    CAPTURE(a);
    CAPTURE(b);
    const Spacing spacing = i % 2 == 0 ? Spacing::linear : Spacing::logarithmic;
    const Measure measure = i % 3 == 0 ? Measure::seconds : Measure::number;
    const Scale scale({"", spacing, measure, {}, {}}, extent_of({a, b}), 7);
    CHECK(scale.ticks().size() <= 9);
    for (std::size_t n = 1; n < scale.ticks().size(); ++n)
      CHECK(scale.ticks()[n].place > scale.ticks()[n - 1].place);
    if (a != b && (spacing == Spacing::linear || a > 0))
      CHECK((a < b) == (scale.place(a) < scale.place(b)));
  }
}

TEST_CASE("scale: labels are short") {
  CHECK(number_label(0.5) == "0.5");
  CHECK(number_label(-0.0) == "0");
  CHECK(number_label(1e-6) == "1e-06");
  CHECK(seconds_label(90) == "1.5 min");
  CHECK(seconds_label(0.25) == "0.25 s");
  CHECK(seconds_label(86400 * 9) == "9 d");
}
