// One recorded trace with its configuration and what really happened.
#pragma once

#include <string>
#include <vector>

#include "core/result.h"
#include "core/site_plan.h"
#include "trace/truth.h"

namespace ebbwatch::bench {

struct TraceSet {
  std::string name;  ///< Of its folder.
  std::string folder;
  WatchPlan plan;  ///< As `ebbwatch replay` would have it.
  std::vector<TruthRow> truth;
  std::string trace_path() const { return folder + "/trace.csv.gz"; }
};

/// Folders below `root` (two levels at most) that hold site.yaml, trace.csv.gz and truth.csv, in
/// order of their paths. Errors: not_found when there is none.
Result<std::vector<std::string>> find_sets(const std::string& root);
/// Errors: of the configuration (all problems, one a line), the trace or the truth.
Result<TraceSet> load_set(const std::string& folder);

}  // namespace ebbwatch::bench
