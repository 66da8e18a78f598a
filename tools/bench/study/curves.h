// Detection time against false losses, as a chart: ours and each family of textbook detectors.
#pragma once

#include <optional>

#include "charts/line_chart.h"
#include "study/study.h"

namespace ebbwatch::bench {

/// Of each family the fewest false losses at each speed, all with the rule for the own link. Empty
/// when nothing was detected, so that there is no speed.
std::optional<charts::LineChart> curves(const Study& study);

}  // namespace ebbwatch::bench
