// The settings that are tried: each family over its own parameter, finely enough that its best one
// at any speed is among them.
#include <array>
#include <cmath>
#include <cstdio>

#include "detectors/bertier.h"
#include "detectors/chen.h"
#include "detectors/fixed_timeout.h"
#include "detectors/phi_accrual.h"
#include "study/detector_run.h"

namespace ebbwatch::bench {
namespace {

std::string number(const char* format, double value) {
  std::array<char, 48> text{};
  std::snprintf(text.data(), text.size(), format, value);
  return text.data();
}

// From 15 s to 40 min, in steps that grow with the time.
std::vector<double> times_s() {
  std::vector<double> all;
  for (double t = 15; t <= 2400; t += t < 600 ? 15 : t < 1200 ? 30 : 60) all.push_back(t);
  return all;
}

void add_timeouts(std::vector<Setting>& all) {
  for (const double t : times_s()) {
    all.push_back({Family::fixed_timeout, number("%.0f s", t),
                   [t](double) { return std::make_unique<FixedTimeout>(t); }});
  }
  for (double n = 1.25; n <= 15; n += n < 8 ? 0.25 : 0.5) {
    all.push_back({Family::missed_in_a_row, number("%.2f intervals", n),
                   [n](double eta) { return std::make_unique<FixedTimeout>(n * eta); }});
  }
}

void add_forecasts(std::vector<Setting>& all) {
  for (const double alpha : times_s()) {
    all.push_back({Family::chen, number("alpha %.0f s", alpha),
                   [alpha](double eta) { return std::make_unique<Chen>(eta, alpha); }});
  }
  for (double phi = 1; phi < 3000; phi *= 1.25) {
    all.push_back({Family::bertier, number("phi %.1f", phi), [phi](double eta) {
                     BertierRules rules;
                     rules.phi = phi;
                     rules.first_delay_s = eta / 4;
                     return std::make_unique<Bertier>(eta, rules);
                   }});
  }
}

void add_accruals(std::vector<Setting>& all) {
  for (const double pause : {0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 14.0}) {
    for (double threshold = 1; threshold <= 128; threshold *= 2) {
      all.push_back({Family::phi, number("pause %.0f, ", pause) + number("phi %.0f", threshold),
                     [pause, threshold](double eta) {
                       const PhiRules rules{threshold, 0.1 * eta, pause * eta};
                       return std::make_unique<PhiAccrual>(eta, rules);
                     }});
    }
  }
}

}  // namespace

const char* name_of(Family family) {
  switch (family) {
    case Family::fixed_timeout:
      return "fixed time-out";
    case Family::missed_in_a_row:
      return "N missed in a row";
    case Family::chen:
      return "NFD-E";
    case Family::bertier:
      return "Bertier";
    case Family::phi:
      return "phi accrual";
  }
  return "";
}

std::vector<Setting> all_settings() {
  std::vector<Setting> all;
  add_timeouts(all);
  add_forecasts(all);
  add_accruals(all);
  return all;
}

}  // namespace ebbwatch::bench
