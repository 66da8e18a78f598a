// One textbook detector at one setting over one trace, alone or with the rule "hold while my own
// link is down": then time in which the own link did not work, or the process did not run, is not
// silence.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "detectors/detector.h"
#include "study/observations.h"
#include "study/suspicion_judge.h"

namespace ebbwatch::bench {

enum class Family : std::uint8_t { fixed_timeout, missed_in_a_row, chen, bertier, phi };
inline constexpr int family_count = 5;
/// "fixed time-out", "N missed in a row", "NFD-E", "Bertier", "phi accrual".
const char* name_of(Family family);

/// A detector at one setting; `make` builds it for a controller with this interval in seconds.
struct Setting {
  Family family = Family::fixed_timeout;
  std::string parameter;  ///< For tables: "240 s", "alpha 90 s", "pause 3, phi 8".
  std::function<std::unique_ptr<Detector>(double interval_s)> make;
};
/// Every setting that the comparison tries.
std::vector<Setting> all_settings();

class DetectorRun {
 public:
  /// @param truth kept by reference.
  DetectorRun(const WatchPlan& plan, const TruthTable& truth, const Setting& setting, bool holds);
  void add(const std::vector<Observation>& observations);
  /// Ends the trace: what is suspected by then stays so. Call once, last.
  Figures finish(double end_s);

 private:
  struct Subject {
    std::unique_ptr<Detector> detector;
    double last_s = -1;    // last heard; negative: never
    double due_s = 0;      // suspects then, as things are
    double raised_s = -1;  // negative: trusted
    bool was_held = false;
  };
  void hear(const Observation& observation);
  void raise_due(double until_s);
  void follow_link(const Observation& observation);

  bool holds_;
  SuspicionJudge judge_;
  std::vector<Subject> subjects_;
  double link_seen_s_ = 0;  // newest sign of the own link or process
  bool link_down_ = false;
};

}  // namespace ebbwatch::bench
