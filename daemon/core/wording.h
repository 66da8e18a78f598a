// Decisions in words: the sentences that a keyholder reads. Pure; allocates; not on the hot path.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "core/decision.h"
#include "core/site_plan.h"

namespace ebbwatch {

/// Turns an Instant into the words for a time of day ("14:02") or, in replay, "3 h 12 min".
using TimeText = std::function<std::string(Instant)>;

/// "45 s", "12 min", "3 h 20 min", "2 d 4 h": at most two units, rounded down in the smaller one.
std::string span_text(Span span);
/// One short sentence with a full stop, e.g. "The battery-backed controller lagoon-logger reported
/// mains off at 14:02."
std::string sentence(const Evidence& evidence, const WatchPlan& plan, const TimeText& time_text);
/// All sentences of a decision in order of weight.
std::vector<std::string> sentences(const Decision& decision, const WatchPlan& plan,
                                   const TimeText& time_text);

/// How a decision's times are written. Replay: time_key "time_s", numbers are seconds since the
/// beginning of the trace. Daemon: time_key "at", a quoted RFC 3339 text; since_s is Unix seconds.
struct DecisionTimes {
  std::string time_key;     ///< "time_s" or "at"
  std::string time_value;   ///< JSON: a number, or a quoted string.
  std::string since_s;      ///< JSON: a number.
  std::string outage = {};  ///< Written instead of outage_text(); empty: that.
};

/// The decision as one line of JSON (FORMATS section 5) without a line end; members in the order of
/// that table.
std::string decision_json(const Decision& decision, const WatchPlan& plan,
                          const TimeText& time_text, const DecisionTimes& times);

/// How an outage is written everywhere: watcher name and number, "harbour-17".
std::string outage_text(const WatchPlan& plan, OutageId outage);

}  // namespace ebbwatch
