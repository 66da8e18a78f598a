// Times as text (RFC 3339) and back, and times of day for people.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "core/time.h"

namespace ebbwatch {

/// "2026-02-22T19:22:22.000Z": UTC, milliseconds (rounded down), capital T and Z.
std::string to_rfc3339(WallTime time);
/// Any offset, 1 to 9 digits of fraction, lower-case t and z, second 60. Empty when malformed or
/// not a real date.
std::optional<WallTime> from_rfc3339(std::string_view text);
/// RFC 5322 §3.3, in UTC: "Tue, 22 Feb 2022 19:22:22 +0000".
std::string to_mail_date(WallTime time);
/// Times further than this from now are told with their date.
inline constexpr Span told_without_date = Span::of_h(20);
/// "14:02", in the machine's time zone; with the date, "22 Feb 14:02", when it is more than 20 h
/// away from `now`.
std::string time_of_day(WallTime time, WallTime now);

}  // namespace ebbwatch
