// Phi accrual: Hayashibara, Defago, Yared, Katayama, "The phi Accrual Failure Detector", SRDS 2004.
// phi(t) = -log10(1 - F(t)), t being the time since the last arrival and F fitted to the newest
// gaps.
//
// The refinements (start gaps, minimum deviation, acceptable pause, no gap after a failure) are
// those of a widely used cluster library, scaled from its heartbeat of 1 s to our interval.
#pragma once

#include "detectors/detector.h"
#include "detectors/sample_window.h"

namespace ebbwatch::bench {

/// Normal law, y = (t - mean) / deviation. Finite for every finite y.
double phi_normal(double y);
/// The logistic stand-in for the normal law, 1 / (1 + exp(-y (1.5976 + 0.070566 y^2))).
double phi_logistic(double y);
/// Exponential law, by the time as a multiple of the mean gap.
double phi_exponential(double times_mean);
/// The y at which `phi` (non-decreasing) reaches `level`. @pre level > 0; y is in -10..1000.
double y_at(double (*phi)(double), double level);

struct PhiRules {
  double threshold = 8;
  double deviation_min_s = 0;     ///< 0.1 interval in the library.
  double acceptable_pause_s = 0;  ///< Added to the mean; 3 intervals in the library.
  std::size_t window = 1000;
};

class PhiAccrual final : public Detector {
 public:
  PhiAccrual(double interval_s, const PhiRules& rules);
  void heard(const Heard& heard) override;
  double suspect_at_s() const override { return suspect_at_s_; }
  /// How suspicious it is at a moment. @pre something was heard.
  double phi_at(double at_s) const;

 private:
  double mean_s() const { return gaps_.mean() + rules_.acceptable_pause_s; }
  double deviation_s() const;

  PhiRules rules_;
  double y_;  // at which phi reaches the threshold
  SampleWindow gaps_;
  double last_s_ = 0;
  double suspect_at_s_ = 0;
};

}  // namespace ebbwatch::bench
