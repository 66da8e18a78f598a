// A chart as the tests draw it: false alarms a year against detection time, two detectors.
#pragma once

#include "charts/line_chart.h"

namespace ebbwatch::test {

inline charts::LineChart sample_chart() {
  charts::LineChart chart;
  chart.id = "trade-off";
  chart.title = "Detection time against false alarms";
  chart.description = "Longer waits give fewer false alarms.";
  chart.x = {"Detection time", charts::Spacing::logarithmic, charts::Measure::seconds, {}, {}};
  chart.y = {"False alarms a year", charts::Spacing::logarithmic, charts::Measure::number, {}, {}};
  chart.series = {{"lagoon-main", {{60, 300}, {300, 20}, {900, 1}, {3600, 0}}, true},
                  {"frag-main", {{60, 30}, {300, 2}, {3600, 0.1}}, true}};
  chart.marks = {{charts::Mark::Across::x, 600, "wished: told within 10 min"},
                 {charts::Mark::Across::y, 1, "wished: at most 1 a year"}};
  return chart;
}

}  // namespace ebbwatch::test
