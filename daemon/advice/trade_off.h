// Detection time against false alarms a year, as a chart.
#pragma once

#include "advice/wishes.h"
#include "charts/line_chart.h"

namespace ebbwatch::advice {

/// @param present the delay that is in force. @param wish marked when given.
charts::LineChart trade_off(const Measure& measure, Span present, const DetectionWish& wish);

}  // namespace ebbwatch::advice
