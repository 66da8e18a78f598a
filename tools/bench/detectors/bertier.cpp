#include "detectors/bertier.h"

#include <cmath>

namespace ebbwatch::bench {

void Bertier::heard(const Heard& heard) {
  if (!heard.anew) {
    const double error_s = heard.at_s - arrivals_.expected_s(heard.sent) - delay_s_;
    delay_s_ += rules_.gamma * error_s;
    variation_s_ += rules_.gamma * (std::fabs(error_s) - variation_s_);
  }
  arrivals_.heard(heard);
}

}  // namespace ebbwatch::bench
