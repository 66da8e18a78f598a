#include "detectors/phi_accrual.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace ebbwatch::bench {

double phi_normal(double y) {
  // erfc underflows near y = 38; well before that the first terms of its asymptotic series are
  // exact enough.
  if (y > 30) {
    return y * y / (2 * std::numbers::ln10) + std::log10(y * std::sqrt(2 * std::numbers::pi)) -
           std::log10(1 - 1 / (y * y));
  }
  return -std::log10(0.5 * std::erfc(y / std::numbers::sqrt2));
}

double phi_logistic(double y) {
  const double power = -y * (1.5976 + 0.070566 * y * y);
  // -log10(e / (1 + e)) with e = exp(power): without forming e, which would under- or overflow.
  if (power < 0) return -(power - std::log1p(std::exp(power))) / std::numbers::ln10;
  return std::log1p(std::exp(-power)) / std::numbers::ln10;
}

double phi_exponential(double times_mean) {
  return times_mean / std::numbers::ln10;
}

double y_at(double (*phi)(double), double level) {
  double low = -10, high = 1000;
  for (int i = 0; i < 100; ++i) {
    const double middle = (low + high) / 2;
    (phi(middle) < level ? low : high) = middle;
  }
  return high;
}

PhiAccrual::PhiAccrual(double interval_s, const PhiRules& rules)
    : rules_(rules), y_(y_at(phi_normal, rules.threshold)), gaps_(rules.window) {
  // Two made-up gaps, so that one check-in is enough to begin.
  gaps_.add(interval_s - interval_s / 4);
  gaps_.add(interval_s + interval_s / 4);
}

void PhiAccrual::heard(const Heard& heard) {
  if (!heard.anew && !heard.gap_is_odd) gaps_.add(heard.at_s - last_s_);
  last_s_ = heard.at_s;
  suspect_at_s_ = last_s_ + mean_s() + y_ * deviation_s();
}

double PhiAccrual::phi_at(double at_s) const {
  return phi_normal((at_s - last_s_ - mean_s()) / deviation_s());
}

double PhiAccrual::deviation_s() const {
  return std::max(gaps_.deviation(), rules_.deviation_min_s);
}

}  // namespace ebbwatch::bench
