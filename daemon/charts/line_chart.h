// A chart of one or more lines over two axes, drawn as SVG and as plain text. Pure: plain data in,
// text out.
//
// Both forms can be read without colour: every series has a dash pattern and a marker of its own
// (SVG) or a character of its own (text), named in a legend. The SVG follows the reader's light or
// dark scheme and is made for 360 pixels of width upwards. Names may hold anything; what XML or a
// terminal cannot show is replaced. Neither form ever holds "nan" or "inf".
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace ebbwatch::charts {

enum class Spacing : std::uint8_t {
  linear,
  /// Powers. Values of 0 and below stand on a line of their own at the foot, marked "0".
  logarithmic,
};
enum class Measure : std::uint8_t {
  number,
  seconds,  ///< Marked as "30 s", "5 min", "2 h", "3 d".
};

struct Axis {
  std::string label;  ///< With the unit where there is one: "False alarms a year".
  Spacing spacing = Spacing::linear;
  Measure measure = Measure::number;
  /// Ends of the axis, widened to the next mark; the data's own when empty.
  std::optional<double> from, to;
};

/// A point that is not finite is left out and breaks the line.
struct Point {
  double x = 0;
  double y = 0;
};

struct Series {
  std::string name;
  std::vector<Point> points;  ///< In the order in which they are joined.
  bool joined = true;         ///< False: markers only.
};

/// A straight line across the chart at one value: a wish, a limit, the present setting.
struct Mark {
  enum class Across : std::uint8_t { x, y };
  Across axis = Across::x;  ///< x: an upright line at this x.
  double at = 0;
  std::string name;
};

struct LineChart {
  std::string id = "chart";  ///< Of a-z, 0-9 and -; unique within a page that shows several.
  std::string title;
  std::string description;  ///< For readers who do not see it; what it says, not how it looks.
  Axis x, y;
  std::vector<Series> series;
  std::vector<Mark> marks;
};

/// One `<svg>` element, complete in itself (style included).
std::string svg(const LineChart& chart);

struct TextForm {
  std::size_t columns = 78;  ///< Of every line; 40 to 200.
  std::size_t rows = 16;     ///< Of the plot itself; 4 to 100.
  bool ascii = false;        ///< For terminals without UTF-8. Names are kept as they are.
};
/// Lines with their ends, none wider than form.columns.
std::string plain_text(const LineChart& chart, const TextForm& form = {});

}  // namespace ebbwatch::charts
