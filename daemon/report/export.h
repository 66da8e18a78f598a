// The record as rows for other programs: CSV (text/csv.h) or JSON, times as RFC 3339 in UTC. Pure.
#pragma once

#include <string>

#include "ports/store.h"

namespace ebbwatch::report {

enum class Form : std::uint8_t { csv, json };

// The line of heads; of JSON there is none. Every row ends with a line end; JSON rows are objects.

/// Decisions and what people did: at, decision, scope, subject, outage, since, cause, confidence,
/// by, text, evidence. The JSON is the stored one (FORMATS section 5 with `at`).
std::string decision_head(Form form);
std::string decision_row(Form form, const DecisionRow& row);

/// Check-ins in two resolutions, raw and by the hour: at, controller, resolution, heard, late,
/// on_battery, longest_gap_s, seq, uptime_s, readings (JSON; of an hour [count, least, mean,
/// most]).
std::string heard_head(Form form);
std::string heard_row(Form form, const CheckInRow& row);
std::string heard_row(Form form, const HourRow& row);

}  // namespace ebbwatch::report
