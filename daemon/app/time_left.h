// One line on how long silent tanks have, for the notice of their loss.
#pragma once

#include <string>
#include <vector>

#include "core/site_plan.h"
#include "notices/story.h"
#include "settings/settings.h"

namespace ebbwatch {

/// Of the subject's tanks the one whose shorter clock ends first, counted from `since`; with its
/// name where the subject covers several. Empty when nothing can be said of any, and for areas,
/// providers and the watcher.
/// @param heard the newest check-ins with readings of the subject's controllers.
std::string time_left_of(const Settings& settings, const WatchPlan& plan, Subject subject,
                         const std::vector<LastHeard>& heard, WallTime since);

}  // namespace ebbwatch
