// How long tanks have: one line for the notice of a loss, both clocks for the board.
#pragma once

#include <string>
#include <vector>

#include "core/site_plan.h"
#include "core/watch.h"
#include "notices/story.h"
#include "ports/clock.h"
#include "settings/settings.h"
#include "timeleft/estimate.h"

namespace ebbwatch {

/// Of the subject's tanks the one whose shorter clock ends first, counted from `since`; with its
/// name where the subject covers several. Empty when nothing can be said of any, and for areas,
/// providers and the watcher.
/// @param heard the newest check-ins with readings of the subject's controllers.
std::string time_left_of(const Settings& settings, const WatchPlan& plan, Subject subject,
                         const std::vector<LastHeard>& heard, WallTime since,
                         Language language = Language::english);

struct TankTimeLeft {
  PowerKnown power = PowerKnown::on;
  TimeLeft left;
};
/// Of one tank as things are now: from the beginning of its outage, else from now on.
/// @param heard the newest check-ins with readings of the tank's controllers.
TankTimeLeft time_left_now(const Settings& settings, const Watch& watch, TankIndex tank,
                           const std::vector<LastHeard>& heard, const Clock& clock);
/// The hours at the low end of the clock that runs out first; never_h without any.
double shorter_low_h(const TimeLeft& left);

}  // namespace ebbwatch
