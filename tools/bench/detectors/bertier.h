// Bertier, Marin, Sens, "Implementation and Performance Evaluation of an Adaptable Failure
// Detector", DSN 2002: Chen's expected arrival with a margin that follows the error, as Jacobson's
// estimator of round trips does.
//
//   error = A_k - EA_k - delay;  delay += gamma * error;  var += gamma * (|error| - var)
//   alpha = beta * delay + phi * var;  tau_{k+1} = EA_{k+1} + alpha
#pragma once

#include "detectors/arrival_estimator.h"

namespace ebbwatch::bench {

struct BertierRules {
  double gamma = 0.1, beta = 1, phi = 4;
  double first_delay_s = 0;  ///< What `delay` starts with.
  std::size_t window = 32;   ///< Of the expected arrival.
};

class Bertier final : public Detector {
 public:
  Bertier(double interval_s, const BertierRules& rules)
      : rules_(rules), arrivals_(interval_s, rules.window), delay_s_(rules.first_delay_s) {}

  void heard(const Heard& heard) override;
  double suspect_at_s() const override { return arrivals_.expected_s(1) + margin_s(); }

  double delay_s() const { return delay_s_; }
  double variation_s() const { return variation_s_; }
  double margin_s() const { return rules_.beta * delay_s_ + rules_.phi * variation_s_; }

 private:
  BertierRules rules_;
  ArrivalEstimator arrivals_;
  double delay_s_;
  double variation_s_ = 0;
};

}  // namespace ebbwatch::bench
