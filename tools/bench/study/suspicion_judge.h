// Counts how well suspicions of single controllers fit what really happened.
//
// The counting rule, the same for a textbook detector and for ebbwatch (there by trace/summary.h):
//   - A suspicion is one notice. It is explained by the outage that it overlaps most, of those that
//     concern its controller, began before it was raised, and had not ended when the controller was
//     last heard (or ended at most two intervals before it was raised).
//   - The first notice of an outage is its detection; each further one is an excess notice.
//   - A notice that no outage explains is a false loss, be it a blip, the watcher's own trouble or
//     nothing at all; where the truth is unknown it is not judged.
//   - An outage that had to be told, and during which nobody of those concerned was suspected, is
//     missed.
// Needs memory for the truth only, not for suspicions.
#pragma once

#include <cstdint>
#include <vector>

#include "study/truth_table.h"

namespace ebbwatch::bench {

struct Suspicion {
  std::uint32_t controller = 0;
  double raised_s = 0;
  double since_s = 0;    ///< Last heard before.
  double trusted_s = 0;  ///< Heard again; infinite when never.
};

struct Figures {
  std::uint64_t notices = 0, false_losses = 0, excess_notices = 0, unjudged = 0;
  std::uint64_t outages = 0, missed = 0;  ///< That had to be told.
  std::vector<double> detection_s;        ///< Of them, from the true start; sorted.
  std::vector<std::uint64_t> false_by_controller;

  /// Nearest rank; a negative number when nothing was detected. @pre 0 < share <= 1
  double detection_percentile(double share) const;
};

class SuspicionJudge {
 public:
  /// @param truth kept by reference.
  explicit SuspicionJudge(const TruthTable& truth, std::size_t controllers);
  /// @pre suspicions of one controller come in order of time.
  void add(const Suspicion& suspicion);
  Figures figures() const;

 private:
  struct Told {
    double first_s = 0;
    std::uint32_t count = 0;
    bool covered = false;
  };
  /// The event of this kind that explains it best; null when none does.
  const RealEvent* best_fit(const Suspicion& suspicion, TruthRow::Kind kind) const;

  const TruthTable& truth_;
  std::vector<Told> told_;           // by event
  std::vector<std::size_t> begins_;  // by controller: events before it are over
  Figures figures_;
};

}  // namespace ebbwatch::bench
