// What single check-ins add up to in an hour. Pure.
#pragma once

#include <optional>
#include <string>

#include "core/result.h"
#include "ports/store.h"

namespace ebbwatch {

inline constexpr Span one_hour = Span::of_h(1);
/// The beginning of the hour in which a time lies, also before 1970.
WallTime hour_of(WallTime time);

/// One more check-in. @param before when the controller was heard before, live; empty: not known.
/// @pre row.at lies in hour.at's hour, and rows come in order of time.
void add_to(HourRow& hour, const CheckInRow& row, std::optional<WallTime> before);

/// {"temperature_c":[COUNT,LEAST,MEAN,MOST]}; empty for none. Numbers have 7 digits.
std::string readings_to_text(const std::vector<HourRow::Reading>& readings);
/// What cannot be read is left out.
std::vector<HourRow::Reading> readings_from_text(const std::string& text);

}  // namespace ebbwatch
