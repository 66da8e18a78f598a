// At equal speed: ours against the best textbook detector that is as fast.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "study/study.h"

namespace ebbwatch::bench {

/// A reference counts as being as fast when its median detection time is at most so much longer.
inline constexpr double speed_slack_s = 5;

struct Match {
  double median_s = 0;        ///< Ours.
  std::uint64_t notices = 0;  ///< Ours: losses and standing alarms told.
  /// Fewest false losses, then fewest notices, of all references that are as fast.
  const ReferencePoint* best = nullptr;
};
/// Empty when nothing was detected, so that there is no speed to compare at.
/// @param only_plain leaves out the detectors with the rule for the own link.
std::optional<Match> match(const Study& study, const OwnPoint& own, bool only_plain = false);

/// Fewest false losses of a family at each speed: points in order of rising median, of which each
/// has fewer false losses than all the faster ones.
std::vector<const ReferencePoint*> frontier(const Study& study, Family family, bool holds);

/// The point of ours whose median detection time is nearest to the given one; null when none has
/// any.
const OwnPoint* nearest(const Study& study, double median_s);

/// What a set must show, and whether it does.
struct Goal {
  bool reached = false;
  std::string text;
};
/// At the configured setting: ten times fewer false losses, and never more needless notices.
/// Needless are false ones and further ones of the same outage; a short true outage that ours tells
/// and the other does not is none. For a set with inferred truth (`is_real`) at 15 min: five times
/// fewer.
std::vector<Goal> goals(const Study& study, bool is_real);

}  // namespace ebbwatch::bench
