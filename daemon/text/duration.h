// Durations as people write them: a number and a unit (ms, s, min, h, d).
#pragma once

#include <string>
#include <string_view>

#include "core/result.h"
#include "core/time.h"

namespace ebbwatch {

/// "90s", "2.5min"; no space, no sign. A bare number is an error that lists the units.
Result<Span> parse_duration(std::string_view text);
/// The shortest exact form in one unit: "90s", "5min", "1h".
std::string duration_text(Span span);

}  // namespace ebbwatch
