// The textbook detectors against values computed with an independent implementation of the formulas
// of the papers that each case names.
#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "detectors/bertier.h"
#include "detectors/chen.h"
#include "detectors/fixed_timeout.h"
#include "detectors/phi_accrual.h"

using namespace ebbwatch::bench;

namespace {

bool near(double value, double wanted, double relative = 1e-6) {
  return std::fabs(value - wanted) <= relative * std::fabs(wanted);
}

Heard first(double at_s) {
  return {at_s, 1, true, false};
}

Heard later(double at_s, std::int64_t sent = 1) {
  return {at_s, sent, false, false};
}

}  // namespace

TEST_CASE("fixed time-out: suspects its time after the last check-in") {
  FixedTimeout detector(180);
  detector.heard(first(10));
  CHECK(detector.suspect_at_s() == 190);
  detector.heard(later(65));
  CHECK(detector.suspect_at_s() == 245);
}

// Chen, Toueg, Aguilera 2002, NFD-E.
TEST_CASE("NFD-E: four arrivals give an expected fifth at 300.65") {
  Chen detector(60, 0);
  detector.heard(first(60.4));
  for (const double at_s : {120.9, 180.2, 241.1}) detector.heard(later(at_s));
  CHECK(near(detector.suspect_at_s(), 300.65));
}

TEST_CASE("NFD-E: with the third lost the sixth is expected at 360.675, suspected 150 s later") {
  Chen detector(60, 150);
  detector.heard(first(60.4));
  detector.heard(later(120.9));
  detector.heard(later(241.1, 2));
  detector.heard(later(300.3));
  CHECK(near(detector.suspect_at_s(), 510.675));
}

TEST_CASE("NFD-E: one lost alone is never suspected when alpha exceeds eta and the jitter") {
  const double eta = 60;
  const double jitter = 2;
  Chen detector(eta, eta + 2 * jitter + 0.1);
  detector.heard(first(eta));
  for (int i = 2; i < 2000; ++i) {
    const double late = jitter * ((i * 7919) % 1000) / 1000;
    const double at_s = eta * i + late;
    CHECK(detector.suspect_at_s() > at_s);
    if (i % 5 == 3) continue;  // Lost, and never two in a row.
    detector.heard(later(at_s, i % 5 == 4 ? 2 : 1));
  }
}

TEST_CASE(
    "NFD-E: a crash is suspected within eta, alpha, the mean delay and the forecast's error") {
  const double eta = 60;
  const double alpha = 90;
  const double delay_max = 3;
  for (int crash = 30; crash < 400; ++crash) {
    Chen detector(eta, alpha);
    detector.heard(first(eta));
    for (int i = 2; i <= crash; ++i) {
      detector.heard(later(eta * i + delay_max * ((i * 7919) % 1000) / 1000));
    }
    // It stops just after sending; mean delay and error of the forecast are below delay_max.
    CHECK(detector.suspect_at_s() <= eta * crash + eta + alpha + delay_max);
    CHECK(detector.suspect_at_s() > eta * crash + alpha);
  }
}

TEST_CASE("NFD-E: a sender that starts anew is not judged by its old numbers") {
  Chen detector(60, 30);
  detector.heard(first(60));
  detector.heard(later(120));
  detector.heard(first(1000));
  CHECK(detector.suspect_at_s() == 1090);
}

// Bertier, Marin, Sens 2002; margin and moment of suspicion after each second check-in.
TEST_CASE("Bertier: the margin follows the error of the forecast") {
  Bertier detector(60, {.1, 1, 4, 15, 4});
  struct Row {
    double delay, variation, margin, suspect_at;
  };
  const std::vector<double> arrivals{60.4, 120.9, 180.2, 241.1, 312.0, 360.5};
  const std::vector<Row> rows{{13.55, 1.45, 19.35, 200.0},
                              {10.995, 3.5895, 25.353, 326.003},
                              {9.62245, 4.347495, 27.01243, 450.46243}};
  for (std::size_t i = 0; i < arrivals.size(); ++i) {
    detector.heard(i == 0 ? first(arrivals[i]) : later(arrivals[i]));
    if (i % 2 == 0) continue;
    const Row& row = rows[i / 2];
    CAPTURE(arrivals[i]);
    CHECK(near(detector.delay_s(), row.delay));
    CHECK(near(detector.variation_s(), row.variation));
    CHECK(near(detector.margin_s(), row.margin));
    CHECK(near(detector.suspect_at_s(), row.suspect_at));
  }
}

// Hayashibara, Defago, Yared, Katayama 2004; the logistic stand-in is that of a cluster library.
TEST_CASE("phi: the three laws give the table of check values") {
  struct Row {
    double mean, deviation, t, normal, logistic, exponential;
  };
  const std::vector<Row> rows{
      {1000, 100, 900, .075026013, .075033032, .390865034},
      {1000, 100, 1000, .301029996, .301029996, .434294482},
      {1000, 100, 1100, .799545541, .799508321, .477723930},
      {1000, 100, 1300, 2.869699036, 2.909475326, .564582826},
      {1000, 100, 1500, 6.542645672, 7.299947394, .651441723},
      {180, 5, 200, 4.499334908, 4.736694583, 0},  // 60 s and a pause of 120 s
      {180, 5, 210, 9.005864327, 10.782600858, 0}};
  for (const Row& row : rows) {
    CAPTURE(row.t);
    const double y = (row.t - row.mean) / row.deviation;
    CHECK(near(phi_normal(y), row.normal));
    CHECK(near(phi_logistic(y), row.logistic));
    if (row.exponential > 0) CHECK(near(phi_exponential(row.t / row.mean), row.exponential));
  }
}

TEST_CASE("phi: the table of thresholds, read the other way round") {
  struct Row {
    double phi, normal, logistic, exponential;
  };
  const std::vector<Row> rows{{1, 1.281552, 1.282215, 2.302585},
                              {2, 2.326348, 2.322746, 4.605170},
                              {3, 3.090232, 3.058938, 6.907755},
                              {8, 5.612001, 5.225987, 18.420681},
                              {12, 7.034484, 6.292124, 27.631021}};
  for (const Row& row : rows) {
    CAPTURE(row.phi);
    CHECK(near(y_at(phi_normal, row.phi), row.normal));
    CHECK(near(y_at(phi_logistic, row.phi), row.logistic));
    CHECK(near(y_at(phi_exponential, row.phi), row.exponential));
  }
}

TEST_CASE("phi: it never falls with time and stays finite for a year of silence") {
  CHECK(near(phi_normal(40), 349.437007));  // erfc alone would give infinity
  for (const auto& phi : {phi_normal, phi_logistic}) {
    double before = 0;
    for (double y = -8; y < 3'000'000; y = y < 60 ? y + 0.01 : y * 1.01) {
      const double now = phi(y);
      REQUIRE(std::isfinite(now));
      REQUIRE(now >= before);
      before = now;
    }
  }
}

TEST_CASE("phi accrual: one check-in is enough to become suspicious") {
  PhiAccrual detector(60, {1, 6, 0, 1000});
  detector.heard(first(100));
  // The made-up gaps are 45 and 75 s: mean 60, deviation 15.
  CHECK(near(detector.suspect_at_s(), 100 + 60 + 1.281552 * 15));
  CHECK(near(detector.phi_at(160), .301029996));
  CHECK(near(detector.phi_at(detector.suspect_at_s()), 1));
}

TEST_CASE("phi accrual: the least deviation and the pause hold for a crisp sender") {
  PhiAccrual detector(60, {8, 6, 180, 1000});
  detector.heard(first(0));
  for (int i = 1; i <= 2000; ++i) detector.heard(later(60.0 * i));
  CHECK(near(detector.suspect_at_s() - 60.0 * 2000, 60 + 180 + 5.612001 * 6));
}

TEST_CASE("phi accrual: a gap in which it suspected teaches nothing") {
  PhiAccrual detector(60, {8, 6, 0, 10});
  detector.heard(first(0));
  for (int i = 1; i <= 20; ++i) detector.heard(later(60.0 * i));
  detector.heard({60.0 * 200, 180, false, true});
  CHECK(near(detector.suspect_at_s() - 60.0 * 200, 60 + 5.612001 * 6));
}
