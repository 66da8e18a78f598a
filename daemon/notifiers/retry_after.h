// The Retry-After field of HTTP (RFC 9110 §10.2.3). Pure.
#pragma once

#include <optional>
#include <string_view>

#include "core/time.h"

namespace ebbwatch {

/// An HTTP-date in any of the three forms that RFC 9110 §5.6.7 has receivers accept. A two-digit
/// year that would be more than 50 years after `now` is in the past century, as that section says.
std::optional<WallTime> parse_http_date(std::string_view text, WallTime now);

/// How long to wait: digits are seconds, a date is compared with `now` (past: none). At most
/// limits::retry_after_max. Empty when malformed ("-1", "1.5", "12 s"): the field is then ignored.
std::optional<Span> parse_retry_after(std::string_view value, WallTime now);

}  // namespace ebbwatch
