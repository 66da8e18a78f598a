// The strip chart's table.
#include <algorithm>
#include <cmath>

#include "charts/frame.h"
#include "charts/lettering.h"
#include "charts/strip_chart.h"

namespace ebbwatch::charts {
namespace {

std::string value_text(const Track& track, double value) {
  return track.measure == Measure::seconds ? seconds_label(value) : number_label(value);
}

std::string range_of(const Track& track, double from, double to) {
  std::optional<double> least, most;
  for (const Point& point : track.points) {
    if (!is_finite(point) || point.x < from || point.x >= to) continue;
    least = std::min(least.value_or(point.y), point.y);
    most = std::max(most.value_or(point.y), point.y);
  }
  if (!least) return "none";
  const std::string low = value_text(track, *least), high = value_text(track, *most);
  return low == high ? low : low + " to " + high;
}

/// Bands may overlap; a second counts once.
double covered(std::vector<Band> bands, Band::Kind kind, double from, double to) {
  std::sort(bands.begin(), bands.end(),
            [](const Band& a, const Band& b) { return a.from < b.from; });
  double sum = 0, reached = from;
  for (const Band& band : bands) {
    if (band.kind != kind) continue;
    const double begin = std::max(band.from, reached), end = std::min(band.to, to);
    if (end <= begin) continue;
    sum += end - begin;
    reached = end;
  }
  return sum;
}

std::string length_text(double seconds) {
  return seconds > 0 ? seconds_label(std::round(seconds)) : "none";
}

}  // namespace

std::vector<std::vector<std::string>> table(const StripChart& chart) {
  std::vector<std::vector<std::string>> rows(1, {"From"});
  for (const Track& track : chart.tracks) rows[0].push_back(clean(track.name));
  rows[0].insert(rows[0].end(), {"Out of contact", "Not watched"});
  for (std::size_t i = 0; i < chart.ticks.size(); ++i) {
    const double from = std::max(chart.ticks[i].at, chart.from);
    const double to = i + 1 < chart.ticks.size() ? chart.ticks[i + 1].at : chart.to;
    if (to <= from) continue;
    std::vector<std::string> row{clean(chart.ticks[i].label)};
    for (const Track& track : chart.tracks) {
      row.push_back(track.ruled
                        ? range_of(track, from, to)
                        : length_text(covered(track.bands, Band::Kind::lost, from, to)) + " lost");
    }
    row.push_back(length_text(covered(chart.bands, Band::Kind::lost, from, to)));
    row.push_back(length_text(covered(chart.bands, Band::Kind::unwatched, from, to)));
    rows.push_back(std::move(row));
  }
  return rows;
}

}  // namespace ebbwatch::charts
