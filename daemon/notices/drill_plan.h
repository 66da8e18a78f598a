// Who takes part in an exercise, and when the next one of a call list is due. Pure.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/result.h"
#include "notices/call_list.h"
#include "settings/settings.h"

namespace ebbwatch {

/// What somebody asks for. Empty texts: all of it.
struct DrillWish {
  std::string site, to, by;
};

struct DrillPlan {
  SiteSettings site;        ///< Where the made-up tank stands.
  std::vector<Call> calls;  ///< Each person once, with every way to them: each is to be proven.
};

/// Without a site: the only one, or the first whose call list names the person. Errors: not_found
/// (no such site or person, or nobody to tell), bad_input (which of several sites?).
Result<DrillPlan> plan_drill(const Settings& settings, const DrillWish& wish);
/// Everybody on the list. The site is the first that has this list; for a list of the watcher alone
/// the watcher stands in its place.
DrillPlan plan_drill(const Settings& settings, const CallListSettings& list);

/// @param last when the list's last exercise began. @param since when this watcher began to count;
/// the first exercise comes after it. With a time of day it is due for an hour from then, so that
/// one that had to wait does not come in the night.
bool drill_is_due(const DrillSettings& drills, std::optional<WallTime> last, WallTime since,
                  const TimeZone& zone, WallTime now);

}  // namespace ebbwatch
