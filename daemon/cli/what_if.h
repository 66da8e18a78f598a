// Two ways of deciding over the same history, side by side: what was told, and what other settings
// would have told. Pure.
#pragma once

#include <boost/json/object.hpp>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "core/result.h"
#include "core/site_plan.h"
#include "core/time.h"
#include "ports/store.h"
#include "trace/summary.h"

namespace ebbwatch {

/// One outage as it was, or would have been, told.
struct ToldLoss {
  std::string scope, subject;
  std::string site;  ///< Of the subject; empty for areas and providers.
  Instant since;     ///< When contact ended.
  Instant told_at;
  std::optional<Instant> recovered;
  std::string cause;  ///< The last one.
};

/// Losses of the store's decisions, oldest first. Errors: bad_input (a row that cannot be read).
Result<std::vector<ToldLoss>> told_losses(const std::vector<DecisionRow>& rows,
                                          const WatchPlan& plan);
std::vector<ToldLoss> told_losses(const DecisionLog& log, const WatchPlan& plan);

struct ComparedLoss {
  std::optional<ToldLoss> then;  ///< As it was told.
  std::optional<ToldLoss> now;   ///< As the other settings would have told it.
};
/// Pairs what is the same outage: silences of the same site that overlap. In order of time.
std::vector<ComparedLoss> compare(const std::vector<ToldLoss>& then,
                                  const std::vector<ToldLoss>& now);

/// A table of at most 80 columns. @param when how the beginning of a silence is written, at most 16
/// characters.
std::string comparison_text(const std::vector<ComparedLoss>& losses,
                            const std::function<std::string(Instant)>& when);
boost::json::object comparison_json(const std::vector<ComparedLoss>& losses,
                                    const std::function<std::string(Instant)>& when);

}  // namespace ebbwatch
