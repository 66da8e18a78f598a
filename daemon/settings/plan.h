// From settings to what the core watches.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "core/site_plan.h"
#include "settings/settings.h"

namespace ebbwatch {

/// Positions follow the order of the file. @pre the settings have no problems.
WatchPlan make_plan(const Settings& settings);
/// The identifier of the site, tank and controller that stand for a witness: "watcher-breakwater".
std::string watched_id(std::string_view witness);
/// Adds to the sites one for each witness, so that it is watched like a controller.
void add_watched_witnesses(Settings& settings);
std::optional<ControllerIndex> find_controller(const WatchPlan& plan, std::string_view id);
/// Settings of a subject, for names and instructions; null when there is none.
const SiteSettings* site_of(const Settings& settings, std::string_view site);
/// The person-readable name of a subject: "Lagoon reef", "Elm Street", "area north-side".
std::string subject_name(const Settings& settings, const WatchPlan& plan, Subject subject);
/// The site a subject belongs to; none for areas, providers and the watcher.
std::optional<SiteIndex> site_of(const WatchPlan& plan, Subject subject);

}  // namespace ebbwatch
