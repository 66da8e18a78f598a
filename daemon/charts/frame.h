// What both forms of a chart share: its two scales and the points that can be drawn. Private to
// charts/.
#pragma once

#include "charts/scale.h"

namespace ebbwatch::charts {

struct Frame {
  Scale x, y;
  bool empty = true;  ///< Nothing to draw.
};
Frame frame_of(const LineChart& chart, int x_ticks_max, int y_ticks_max);

bool is_finite(Point point);

}  // namespace ebbwatch::charts
