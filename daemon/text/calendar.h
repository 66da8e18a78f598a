// Days and months of this machine's time zone, and the marks of an axis of time. Days may have 23
// or 25 hours.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/time.h"

namespace ebbwatch {

/// The beginning of "2026-11-25", so many days later. Empty when it is no day.
std::optional<WallTime> local_day(std::string_view day, int days_later = 0);

/// Of "2026-11-25T14:02", as forms of browsers send it. Empty when it is no such time.
std::optional<WallTime> local_moment(std::string_view text);

struct Month {
  WallTime from, until;  ///< from <= t < until
  std::string name;      ///< "October 2026"
  std::string key;       ///< "2026-10"
};
/// Of "2026-10". Empty when it is no month.
std::optional<Month> local_month(std::string_view key);
/// The month before the one that `now` lies in, as "2026-10".
std::string month_before(WallTime now);

/// "2026-10-05 14:02"
std::string local_minute(WallTime time);

struct TimeMark {
  WallTime at;
  std::string label;  ///< "14:00", "5 Oct"
};
/// Round times from `from` to `until`, both included: hours, days or weeks, whatever gives at most
/// so many. @pre at_most >= 2
std::vector<TimeMark> time_marks(WallTime from, WallTime until, std::size_t at_most);

}  // namespace ebbwatch
