#include "core/arrival.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

namespace {

constexpr Span minute = Span::of_s(60);

Instant at(double seconds) {
  return Instant::of_seconds(seconds);
}

double seconds(Span span) {
  return span.seconds();
}

}  // namespace

// Chen, Toueg, Aguilera 2002, estimator of NFD-E; values computed independently.
TEST_CASE("expected arrival: four samples without loss give 300.65") {
  ExpectedArrival grid;
  grid.restart(at(60.4));
  grid.add(at(120.9), 1, minute);
  grid.add(at(180.2), 1, minute);
  grid.add(at(241.1), 1, minute);
  CHECK(grid.expect(1, minute).seconds() == doctest::Approx(300.65).epsilon(1e-9));
}

TEST_CASE("expected arrival: the third message lost, the sixth is expected at 360.675") {
  ExpectedArrival grid;
  grid.restart(at(60.4));
  grid.add(at(120.9), 1, minute);
  grid.add(at(241.1), 2, minute);
  grid.add(at(300.3), 1, minute);
  const Instant expected = grid.expect(1, minute);
  CHECK(expected.seconds() == doctest::Approx(360.675).epsilon(1e-9));
  CHECK((expected + Span::of_s(150)).seconds() == doctest::Approx(510.675).epsilon(1e-9));
}

TEST_CASE("expected arrival: only the newest 32 count, however long it runs") {
  ExpectedArrival grid;
  grid.restart(at(0));
  for (int i = 1; i <= 40; ++i) grid.add(at(60.0 * i), 1, minute);
  for (int i = 41; i <= 72; ++i) grid.add(at(60.0 * i + 5), 1, minute);
  CHECK(grid.expect(1, minute).seconds() == doctest::Approx(60.0 * 73 + 5));
  CHECK(grid.count() == ExpectedArrival::window);
}

TEST_CASE("expected arrival: a drifting clock is followed for years") {
  ExpectedArrival grid;
  grid.restart(at(0));
  const double real = 60.012;  // 200 parts in a million
  for (int i = 1; i < 2'000'000; ++i) grid.add(at(real * i), 1, minute);
  CHECK(grid.expect(1, minute).seconds() == doctest::Approx(real * 2'000'000).epsilon(1e-8));
}

TEST_CASE("arrival: a first check-in is enough to expect the next") {
  Arrival arrival(minute);
  arrival.heard(at(10), {});
  CHECK(arrival.expected().seconds() == doctest::Approx(70));
  CHECK(seconds(arrival.margin()) >= 0.5);
  CHECK(seconds(arrival.margin()) <= 30);
}

TEST_CASE("arrival: one late or lost check-in hardly moves the next expectation") {
  Arrival arrival(minute);
  for (int i = 0; i < 40; ++i) arrival.heard(at(60.0 * i), {1});
  arrival.heard(at(60.0 * 40 + 25), {1});  // 25 s late
  CHECK(arrival.expected().seconds() == doctest::Approx(60.0 * 41).epsilon(0.001));
  arrival.heard(at(60.0 * 42), {2});  // one lost
  CHECK(arrival.expected().seconds() == doctest::Approx(60.0 * 43).epsilon(0.001));
}

TEST_CASE("arrival: the margin follows the jitter and stays below half an interval") {
  Arrival crisp(minute);
  Arrival loose(minute);
  for (int i = 0; i < 200; ++i) {
    crisp.heard(at(60.0 * i), {1});
    loose.heard(at(60.0 * i + (i % 3 - 1) * 4.0), {1});
  }
  CHECK(seconds(crisp.margin()) < 2);
  CHECK(seconds(loose.margin()) > 5);
  CHECK(seconds(loose.margin()) <= 30);
}

TEST_CASE("arrival: a longer interval is learnt in three check-ins when seq shows no loss") {
  Arrival arrival(Span::of_s(30));
  double t = 0;
  for (int i = 0; i < 50; ++i) arrival.heard(at(t += 30), {1});
  arrival.heard(at(t += 120), {1});
  // From the first one on the longer of the two is what is waited for.
  CHECK(arrival.expected().seconds() >= t + 119);
  arrival.heard(at(t += 120), {1});
  arrival.heard(at(t += 120), {1});
  CHECK(seconds(arrival.interval()) == doctest::Approx(120));
  CHECK(arrival.expected().seconds() == doctest::Approx(t + 120));
}

TEST_CASE("arrival: a shorter interval is learnt") {
  Arrival arrival(Span::of_s(120));
  double t = 0;
  for (int i = 0; i < 50; ++i) arrival.heard(at(t += 120), {1});
  for (int i = 0; i < 6; ++i) arrival.heard(at(t += 30), {1});
  CHECK(seconds(arrival.interval()) == doctest::Approx(30));
}

TEST_CASE("arrival: without seq a doubled gap is a lost check-in, five alike are a new interval") {
  Arrival arrival(minute);
  double t = 0;
  for (int i = 0; i < 50; ++i) arrival.heard(at(t += 60), {});
  arrival.heard(at(t += 120), {});
  CHECK(arrival.expected().seconds() == doctest::Approx(t + 60));
  for (int i = 0; i < 5; ++i) arrival.heard(at(t += 150), {});
  CHECK(seconds(arrival.interval()) == doctest::Approx(150));
}

TEST_CASE("arrival: an interval that is a little off the configured one is followed") {
  Arrival arrival(minute);
  double t = 0;
  for (int i = 0; i < 200; ++i) arrival.heard(at(t += 63), {1});
  CHECK(seconds(arrival.interval()) == doctest::Approx(63).epsilon(0.002));
  CHECK(arrival.expected().seconds() == doctest::Approx(t + 63).epsilon(0.001));
}

TEST_CASE("arrival: the chance of loss is measured, blips do not count as random loss") {
  Arrival arrival(minute);
  CHECK(arrival.loss_chance() == doctest::Approx(0.03));
  double t = 0;
  for (int i = 0; i < 3000; ++i) {
    const bool after_loss = i % 20 == 0;  // each twentieth follows a lost one: 1 of 21 lost
    arrival.heard(at(t += after_loss ? 120 : 60), {after_loss ? 2 : 1});
  }
  CHECK(arrival.loss_chance() == doctest::Approx(1.0 / 21).epsilon(0.1));
  for (int i = 0; i < 20; ++i) arrival.heard(at(t += 600), {10});
  CHECK(arrival.loss_chance() == doctest::Approx(1.0 / 21).epsilon(0.1));
  Arrival good(minute);
  for (int i = 0; i < 5000; ++i) good.heard(at(60.0 * i), {1});
  CHECK(good.loss_chance() == doctest::Approx(0.005));
}

TEST_CASE("arrival: a batch of check-ins at once changes nothing") {
  Arrival arrival(minute);
  double t = 0;
  for (int i = 0; i < 40; ++i) arrival.heard(at(t += 60), {1});
  t += 180;
  for (int i = 0; i < 3; ++i) arrival.heard(at(t + 0.1 * i), {1});
  CHECK(seconds(arrival.interval()) == doctest::Approx(60).epsilon(0.001));
  CHECK(arrival.expected().seconds() == doctest::Approx(t + 60).epsilon(0.001));
}
