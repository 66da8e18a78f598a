// Runs the core over a trace. The same deciding as the daemon's, with the trace's time.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "core/result.h"
#include "core/site_plan.h"
#include "core/time.h"
#include "trace/summary.h"

namespace ebbwatch {

/// The plan as `watcher` would have it: every other watcher of the trace is its witness.
/// @param watchers_in_trace in order of first appearance.
WatchPlan plan_for_replay(WatchPlan plan, const std::string& watcher,
                          const std::vector<std::string>& watchers_in_trace);

/// Takes one decision as a line of JSON without its end. @return false to stop (a write that
/// failed).
using DecisionSink = std::function<bool(std::string_view line)>;
/// Called now and then with the share that is done.
using ReplayProgress = std::function<void(double share)>;

struct ReplayRun {
  DecisionLog log;
  std::uint64_t rows = 0;
  std::uint64_t passed_over = 0;  ///< Rows of controllers or references that are not configured.
  double length_s = 0;            ///< Time of the last row.
};

/// Memory does not depend on the length of the trace. Nothing is decided after the last row, so
/// that the decisions for a part are the first part of the decisions for the whole. Errors: of the
/// trace (see TraceReader); cancelled when the sink stops.
Result<ReplayRun> run_replay(const WatchPlan& plan, const std::string& trace_path,
                             const DecisionSink& sink, const ReplayProgress& progress);

}  // namespace ebbwatch
