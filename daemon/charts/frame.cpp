#include "charts/frame.h"

#include <cmath>

namespace ebbwatch::charts {

bool is_finite(Point point) {
  return std::isfinite(point.x) && std::isfinite(point.y);
}

Frame frame_of(const LineChart& chart, int x_ticks_max, int y_ticks_max) {
  Extent x, y;
  for (const Series& series : chart.series) {
    for (const Point& point : series.points) {
      if (!is_finite(point)) continue;
      x.add(point.x);
      y.add(point.y);
    }
  }
  const bool empty = !x.any;
  for (const Mark& mark : chart.marks) (mark.axis == Mark::Across::x ? x : y).add(mark.at);
  return {Scale(chart.x, x, x_ticks_max), Scale(chart.y, y, y_ticks_max), empty};
}

}  // namespace ebbwatch::charts
