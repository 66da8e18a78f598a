// NFD-E of Chen, Toueg, Aguilera 2002: suspect a constant shift after the expected arrival.
//
//   tau_{l+1} = EA_{l+1} + alpha
#pragma once

#include "detectors/arrival_estimator.h"

namespace ebbwatch::bench {

class Chen final : public Detector {
 public:
  static constexpr std::size_t window = 32;  ///< As in the paper's simulation.

  /// @param shift_s alpha.
  Chen(double interval_s, double shift_s) : arrivals_(interval_s, window), shift_s_(shift_s) {}
  void heard(const Heard& heard) override { arrivals_.heard(heard); }
  double suspect_at_s() const override { return arrivals_.expected_s(1) + shift_s_; }

 private:
  ArrivalEstimator arrivals_;
  double shift_s_;
};

}  // namespace ebbwatch::bench
