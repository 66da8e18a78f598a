// From values to places on an axis, and which values are marked on it. Private to charts/.
#pragma once

#include <string>
#include <vector>

#include "charts/line_chart.h"

namespace ebbwatch::charts {

struct Tick {
  double place = 0;  ///< 0 to 1 along the axis.
  std::string label;
};

/// Least and greatest of the values that an axis must show; finite ones only.
struct Extent {
  double least = 0, most = 0;               ///< Of all values. @pre any
  double least_above_nought = 0;            ///< 0: there is none.
  bool any = false, any_not_above = false;  ///< A value; a value of 0 or below.
  void add(double value);
};

class Scale {
 public:
  /// @param ticks_max at least 2.
  Scale(const Axis& axis, Extent extent, int ticks_max);
  /// 0 to 1; values outside stand at the ends. @pre finite
  double place(double value) const;
  const std::vector<Tick>& ticks() const { return ticks_; }

 private:
  void make_linear(const Axis& axis, const Extent& extent, int ticks_max);
  void make_logarithmic(const Axis& axis, const Extent& extent, int ticks_max);

  Spacing spacing_;
  double from_ = 0, to_ = 1;  // in the spacing's own measure: values, or their logarithms
  double foot_ = 0;           // share of the axis kept for "0"
  std::vector<Tick> ticks_;
};

/// "0.001", "1500", "1e-06"
std::string number_label(double value);
/// "45 s", "2.5 min", "3 h", "9 d"
std::string seconds_label(double seconds);

}  // namespace ebbwatch::charts
