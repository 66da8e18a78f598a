// Expected arrival of the next check-in: Chen, Toueg, Aguilera, "On the Quality of Service of
// Failure Detectors", IEEE Trans. Computers 51(5), 2002, estimator of NFD-E.
//
//   EA_{l+1} = (1/n) * sum(A_i - eta * s_i) + (l + 1) * eta   over the newest n received
#pragma once

#include <cstdint>

#include "detectors/detector.h"
#include "detectors/sample_window.h"

namespace ebbwatch::bench {

class ArrivalEstimator {
 public:
  /// @param interval_s eta, > 0. @param window n; 32 in the paper's simulation.
  ArrivalEstimator(double interval_s, std::size_t window)
      : interval_s_(interval_s), offsets_(window) {}

  void heard(const Heard& heard) {
    if (heard.anew) {
      offsets_.clear();
      first_s_ = heard.at_s;
      number_ = 0;
    } else {
      number_ += heard.sent;
    }
    // Counted from the first arrival, so that the offsets stay small and exact.
    offsets_.add(heard.at_s - first_s_ - interval_s_ * static_cast<double>(number_));
  }
  /// Expected arrival of the check-in `ahead` after the newest one. @pre something was heard.
  double expected_s(std::int64_t ahead) const {
    return first_s_ + offsets_.mean() + interval_s_ * static_cast<double>(number_ + ahead);
  }

 private:
  double interval_s_;
  SampleWindow offsets_;
  double first_s_ = 0;
  std::int64_t number_ = 0;
};

}  // namespace ebbwatch::bench
