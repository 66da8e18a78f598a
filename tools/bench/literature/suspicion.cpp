#include "literature/suspicion.h"

#include <cmath>

namespace ebbwatch::bench {

double mean_periods_to_detection(double live) {
  const double e = std::exp(live);
  return e / (e - 1);
}

double suspicion_timeout(const SuspicionRules& rules, int confirmations) {
  const double share = std::log(confirmations + 1.0) / std::log(rules.wanted + 1.0);
  return std::max(rules.shortest, rules.longest - (rules.longest - rules.shortest) * share);
}

double bfd_detection_time(int remote_multiplier, double local_required_receive,
                          double remote_desired_transmit) {
  return remote_multiplier * std::max(local_required_receive, remote_desired_transmit);
}

GapRange bfd_gaps(int multiplier, double interval) {
  return {0.75 * interval, (multiplier == 1 ? 0.90 : 1.00) * interval};
}

}  // namespace ebbwatch::bench
