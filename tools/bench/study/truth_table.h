// What really happened, ready to be compared with what a detector said: which controllers each row
// concerns, and which rows had to be told. The rules are those of the summary of `ebbwatch replay`
// (trace/summary.h), judged with the settings of the set's own site.yaml whatever is tried.
#pragma once

#include <cstdint>
#include <vector>

#include "core/site_plan.h"
#include "trace/truth.h"

namespace ebbwatch::bench {

struct RealEvent {
  const TruthRow* row = nullptr;
  std::vector<std::uint32_t> controllers;
  double grace_s = 0;  ///< A loss may be decided before the first check-in after the end.
  bool must = false;   ///< An outage so long that it had to be told.
};

class TruthTable {
 public:
  /// @param truth kept by reference; rows of subjects that the plan does not know are left out.
  TruthTable(const WatchPlan& plan, const std::vector<TruthRow>& truth);

  const std::vector<RealEvent>& events() const { return events_; }
  /// Positions in events() of those that concern the controller, by their start.
  const std::vector<std::uint32_t>& of(std::uint32_t controller) const {
    return by_controller_[controller];
  }

 private:
  std::vector<RealEvent> events_;
  std::vector<std::vector<std::uint32_t>> by_controller_;
};

/// The controllers that a subject covers; empty when the plan does not know it.
std::vector<std::uint32_t> controllers_of(const WatchPlan& plan, Subject subject);

}  // namespace ebbwatch::bench
