// How far a claimed cause may be believed: every notice that claims one, by its confidence, against
// what really happened.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "core/decision.h"
#include "core/result.h"
#include "study/trace_set.h"
#include "study/truth_table.h"

namespace ebbwatch::bench {

/// Upper ends of the bins of confidence: up to 0.5, up to 0.8, above.
inline constexpr std::array<double, 3> confidence_bins{0.5, 0.8, 1.0};

struct Bin {
  std::uint64_t uses = 0, right = 0;
};
struct CauseFigures {
  std::array<Bin, confidence_bins.size()> bins;  ///< Uses: each loss, revision and recovery told.
  std::uint64_t on_no_outage = 0;  ///< Claims about a loss that was none; not in bins.
  Bin last_with_evidence;     ///< Outages told whose cause the trace gives away; last cause right.
  Bin last_without_evidence;  ///< The others, of known cause.
  /// Of those with evidence: how often each true cause was last called what.
  std::map<std::string, std::map<std::string, std::uint64_t>> confusion;

  void add(const CauseFigures& other);
};

/// For each row of truth.csv whether the trace holds evidence of its cause, as the set's
/// truth-meta.json grades it: a battery-backed controller was heard, uptime told a restart or none,
/// stored check-ins came, others at the site were still heard. Empty when the set has no such
/// grades. Errors: bad_input, storage.
Result<std::vector<bool>> read_evidence(const TraceSet& set);

/// Collects what was claimed in one replay.
class ClaimLog {
 public:
  void add(const Decision& decision);
  CauseFigures judge(const TraceSet& set, const std::vector<bool>& evidence) const;

 private:
  struct Claim {
    Cause cause;
    double confidence;
  };
  struct Outage {
    Subject subject;  // the last one
    double told_s = 0, since_s = 0, recovered_s = 0;
    std::vector<Claim> claims;
  };
  static const RealEvent* best_fit(const Outage& outage, const TruthTable& truth,
                                   const std::vector<std::uint32_t>& controllers);

  std::vector<Outage> outages_;
  std::map<OutageId, std::size_t> positions_;
};

/// Replays the set with its own settings. Errors: of the trace and its grades.
Result<CauseFigures> study_causes(const TraceSet& set);

/// A table of at most 80 columns.
std::string cause_table(const CauseFigures& figures);

}  // namespace ebbwatch::bench
