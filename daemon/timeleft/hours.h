// Lengths of time as estimates have them, and how they are told: as ranges, rounded, never as one
// number.
#pragma once

#include <limits>
#include <string>

#include "words/language.h"

namespace ebbwatch {

/// Hours of an event that is not expected at all.
inline constexpr double never_h = std::numeric_limits<double>::infinity();

/// Hours until something happens. 0 <= low_h <= middle_h <= high_h; each may be never_h.
struct HoursRange {
  double low_h = 0;  ///< The end to act on.
  double middle_h = 0;
  double high_h = 0;
};

/// "less than an hour", "2.5 hours", "17 hours", "more than a day" or "never": half hours up to 6,
/// whole ones up to 24. Rounded down, so that nobody counts on time that is not there.
std::string hours_text(double hours, Language language = Language::english);
/// "less than an hour to 2.5 hours", "8 to 17 hours", "8 hours to never", "17 hours", "never".
std::string range_text(const HoursRange& range, Language language = Language::english);
/// `range` as it is `hours` (>= 0) later: what has passed is taken off, down to 0.
HoursRange later_by(const HoursRange& range, double hours);

}  // namespace ebbwatch
