// What the board tells programs: JSON under /v1, figures, a calendar. From the parts' states and
// stored rows to text. Pure but for the store that is given.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/board_views.h"
#include "board/calendar_feed.h"
#include "board/metrics_text.h"
#include "ports/store.h"
#include "report/record.h"

namespace ebbwatch {

/// `{"watcher", "at", "sites": […]}`; likewise tanks and controllers (assets/openapi.json).
std::string sites_json(const BoardInput& in);
std::string tanks_json(const BoardInput& in);
std::string controllers_json(const BoardInput& in);
/// One of them; empty when there is none of this identifier.
std::optional<std::string> site_json(const BoardInput& in, const std::string& id);
std::optional<std::string> tank_json(const BoardInput& in, const std::string& id);
std::optional<std::string> controller_json(const BoardInput& in, const std::string& id);

std::string outages_json(const BoardInput& in, const report::Record& record);
/// With every line of its record and every notice. Empty when nothing was ever decided of it.
std::optional<std::string> outage_json(const BoardInput& in, OutageId id, const OutageRows& rows);

std::vector<MetricFamily> metric_families(const StatusInput& in);

/// Exercises that were held, and what is shelved now.
std::vector<CalendarEvent> calendar_events(const StatusInput& in,
                                           const std::vector<DrillRow>& drills);

}  // namespace ebbwatch
