// Figures for programs that collect them, in the text form of OpenMetrics 1.0. Pure.
#pragma once

#include <string>
#include <utility>
#include <vector>

namespace ebbwatch {

struct MetricPoint {
  std::vector<std::pair<std::string, std::string>> labels;
  double value = 0;
};
/// One family of gauges.
struct MetricFamily {
  std::string name;  ///< Of a-z, 0-9 and _; ends in `_unit` when there is a unit.
  std::string unit;  ///< "seconds"; empty: none.
  std::string help;
  std::vector<MetricPoint> points;
};

std::string metrics_text(const std::vector<MetricFamily>& families);
inline constexpr const char* metrics_type =
    "application/openmetrics-text; version=1.0.0; charset=utf-8";

}  // namespace ebbwatch
