// How well the decisions of a replay fit what really happened: figures for people and for tests.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/decision.h"
#include "core/site_plan.h"
#include "trace/truth.h"

namespace ebbwatch {

/// One outage as it was told.
struct ToldOutage {
  OutageId id = 0;
  Subject subject;  ///< The last one: widening and narrowing are followed.
  double told_s = 0, since_s = 0;
  std::optional<double> recovered_s;  ///< When the recovery was told.
  Cause cause = Cause::undetermined;  ///< The last one.
};
/// A spell in which short losses were held back.
struct UnsteadySpell {
  Subject subject;
  double from_s = 0;
  std::optional<double> until_s;
};

/// Keeps of the decisions what the summary needs: one entry per outage, not per row or decision.
class DecisionLog {
 public:
  void add(const Decision& decision);
  const std::vector<ToldOutage>& outages() const { return outages_; }
  const std::vector<UnsteadySpell>& spells() const { return spells_; }
  std::uint64_t count(DecisionKind kind) const;

 private:
  std::vector<ToldOutage> outages_;
  std::map<OutageId, std::size_t> positions_;
  std::vector<UnsteadySpell> spells_;
  std::map<DecisionKind, std::uint64_t> counts_;
};

/// What the rules are: an outage must be told when it lasted so long that every rule below allowed
/// enough time, counted while the watcher could see; a shorter one may be told; a blip must not.
///   must_report_s · interval + on_delay + 2 min · (min_missed + 2) intervals
struct SummaryRules {
  double must_report_s = 600;
};

struct ReplaySummary {
  double length_s = 0;  ///< Of the trace.
  double tank_years = 0;
  std::map<std::string, std::uint64_t> decisions;  ///< By kind.
  bool has_truth = false;

  // Everything below needs the truth.
  std::uint64_t outages = 0;  ///< That had to be told.
  std::uint64_t outages_found = 0, outages_missed = 0;
  std::uint64_t optional_outages = 0, optional_found = 0;
  std::uint64_t blips = 0;
  std::uint64_t true_losses = 0;   ///< First loss of an outage.
  std::uint64_t false_losses = 0;  ///< Of them: blips_told, blind_losses; the rest fits to nothing.
  std::uint64_t blips_told = 0;    ///< A blip that was told as a loss.
  std::uint64_t blind_losses = 0;  ///< The watcher's own outage told as a loss.
  std::uint64_t excess_notices = 0;   ///< Second and later losses of one outage.
  std::uint64_t unjudged_losses = 0;  ///< Where the truth is unknown.
  std::uint64_t premature_recoveries = 0;
  std::uint64_t decided_while_blind =
      0;  ///< Losses decided during an outage of the watcher itself.
  std::uint64_t causes_judged = 0, causes_right = 0;
  std::uint64_t scopes_judged = 0, scopes_right = 0;
  std::vector<double> detection_s;  ///< From the true start to the loss, sorted.
  std::vector<TruthRow> missed;
  std::vector<ToldOutage> false_ones;

  /// Nearest rank; empty when nothing was detected. @pre 0 < share <= 1
  std::optional<double> detection_percentile(double share) const;
};

/// @param length_s time of the last row of the trace. @param truth null when there is none.
ReplaySummary summarize(const WatchPlan& plan, const DecisionLog& log,
                        const std::vector<TruthRow>* truth, double length_s,
                        const SummaryRules& rules = {});

/// One JSON object with a line end.
std::string summary_json(const ReplaySummary& summary, const WatchPlan& plan);
/// A table for people, at most 80 columns.
std::string summary_text(const ReplaySummary& summary, const WatchPlan& plan);

}  // namespace ebbwatch
