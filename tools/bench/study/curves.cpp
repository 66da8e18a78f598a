#include "study/curves.h"

#include <algorithm>

#include "study/comparison.h"

namespace ebbwatch::bench {
namespace {

// Slower ones than this tell a tank's owner too late to matter here.
constexpr double slowest_s = 20 * 60;

charts::Point point(double median_s, std::uint64_t false_losses, double tank_years) {
  return {median_s, static_cast<double>(false_losses) / tank_years};
}

charts::Series of_family(const Study& study, Family family) {
  charts::Series series;
  series.name = name_of(family);
  for (const ReferencePoint* reference : frontier(study, family, true)) {
    const double median_s = reference->figures.detection_percentile(0.5);
    if (median_s > slowest_s) break;
    series.points.push_back(point(median_s, reference->figures.false_losses, study.tank_years));
  }
  return series;
}

// Ours is thinned out by the same rule.
charts::Series of_ours(const Study& study) {
  charts::Series series;
  series.name = "ebbwatch";
  std::vector<charts::Point> all;
  for (const OwnPoint& own : study.own) {
    const auto median_s = own.summary.detection_percentile(0.5);
    if (!median_s || *median_s > slowest_s) continue;
    all.push_back(point(*median_s, own.summary.false_losses, study.tank_years));
  }
  std::sort(all.begin(), all.end(), [](const charts::Point& a, const charts::Point& b) {
    return std::pair(a.x, a.y) < std::pair(b.x, b.y);
  });
  for (const charts::Point& one : all) {
    if (series.points.empty() || one.y < series.points.back().y) series.points.push_back(one);
  }
  return series;
}

}  // namespace

std::optional<charts::LineChart> curves(const Study& study) {
  charts::LineChart chart;
  chart.id = "detectors-" + study.name;
  chart.title = study.name + ": detection time against false losses";
  chart.description =
      "Median detection time and false losses a tank-year, for ebbwatch at several on-delays and "
      "for "
      "textbook failure detectors at their best settings, all with a rule for the watcher's own "
      "link.";
  chart.x = {"Median detection time", charts::Spacing::linear, charts::Measure::seconds, 0.0, {}};
  chart.y = {
      "False losses a tank-year", charts::Spacing::logarithmic, charts::Measure::number, {}, {}};
  chart.series.push_back(of_ours(study));
  if (chart.series.front().points.empty()) return std::nullopt;
  for (int family = 0; family < family_count; ++family) {
    chart.series.push_back(of_family(study, static_cast<Family>(family)));
  }
  return chart;
}

}  // namespace ebbwatch::bench
