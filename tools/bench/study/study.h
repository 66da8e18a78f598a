// One set, once through: every textbook detector at every setting beside our own deciding at
// several on-delays. The trace is read once and in parts, so memory does not grow with its length.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "core/result.h"
#include "study/detector_run.h"
#include "study/trace_set.h"
#include "trace/summary.h"

namespace ebbwatch::bench {

struct ReferencePoint {
  Family family = Family::fixed_timeout;
  std::string parameter;
  bool holds = false;  ///< With the rule "hold while my own link is down".
  Figures figures;
};

/// Ours at one setting. Every controller, tank and site gets these two.
struct OwnSetting {
  Span on_delay;
  std::uint32_t min_missed = 3;
};
struct OwnPoint {
  OwnSetting setting;
  bool is_configured = false;  ///< As in the set's site.yaml, not changed.
  ReplaySummary summary;
  std::vector<std::uint64_t> false_by_controller;
};

struct Study {
  std::string name;
  double tank_years = 0;
  std::uint64_t rows = 0, blips = 0;
  std::vector<std::string> controllers;
  std::vector<ReferencePoint> references;
  std::vector<OwnPoint> own;  ///< The configured one first, then by on-delay.
};

/// The on-delays that are tried besides the configured one.
std::vector<OwnSetting> own_settings();

/// Errors: of the trace.
Result<Study> run_study(const TraceSet& set, const std::vector<Setting>& settings,
                        const std::vector<OwnSetting>& own);

}  // namespace ebbwatch::bench
