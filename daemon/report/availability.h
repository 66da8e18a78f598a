// How long each tank was in contact, out of contact, and not watched at all. The watcher's own gaps
// never count against a tank: they are taken out of the time that is judged.
#pragma once

#include <string>
#include <vector>

#include "report/record.h"

namespace ebbwatch::report {

/// Sorted, without overlaps, and cut to `within`; touching ones become one.
std::vector<Stretch> joined(std::vector<Stretch> stretches, Stretch within);
/// What of `all` lies in none of `without`. @pre both joined.
std::vector<Stretch> less(const std::vector<Stretch>& all, const std::vector<Stretch>& without);
Span length(const std::vector<Stretch>& stretches);

struct TankTime {
  std::string tank;  ///< Identifier.
  Span watched;      ///< With the watcher running, since the tank was first heard.
  Span lost;         ///< Of that, out of contact.
  Span unwatched;    ///< Since it was first heard, the watcher's own gaps.
  std::size_t outages = 0;
  std::vector<Stretch> lost_stretches;
  /// 0 to 1; 1 - lost / watched. Empty when nothing was watched.
  std::optional<double> availability() const;
};
/// In the order of record.tanks.
std::vector<TankTime> tank_times(const Record& record);

/// "99.987 %", rounded down, so that only a tank that was never lost has 100 %. Empty: "-".
std::string percent_text(std::optional<double> share);

}  // namespace ebbwatch::report
