// A strip chart as a pen recorder draws it: tracks one above the other on ruled paper, all over the
// same stretch of time, with the times shaded in which contact was lost or nobody watched. As SVG,
// and as a table that says the same. Pure: plain data in, text out.
//
// Made for 360 pixels of width upwards; several values that fall on one place become the line from
// the least to the greatest, so a month of check-ins costs no more than a day. Shaded times differ
// in pattern as well as in colour.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "charts/line_chart.h"

namespace ebbwatch::charts {

struct Band {
  enum class Kind : std::uint8_t {
    lost,       ///< Out of contact.
    unwatched,  ///< The watcher itself did not run, or was cut off.
  };
  Kind kind = Kind::lost;
  double from = 0, to = 0;  ///< Seconds on the chart's axis.
};

/// One pen.
struct Track {
  std::string name;  ///< "Water, °C"
  Spacing spacing = Spacing::linear;
  Measure measure = Measure::number;
  /// x in seconds on the chart's axis, rising; a point that is not finite lifts the pen.
  std::vector<Point> points;
  std::vector<Band> bands;              ///< Besides the chart's own.
  std::optional<double> low{}, high{};  ///< Limits, drawn as lines.
  bool ruled = true;                    ///< False: only its bands are shown, on a low strip.
};

struct TimeTick {
  double at = 0;
  std::string label;
};

struct StripChart {
  std::string id = "strip";  ///< Of a-z, 0-9 and -; unique within a page.
  std::string title;
  std::string description;      ///< For readers who do not see it.
  double from = 0, to = 0;      ///< Seconds on any axis; from < to.
  std::vector<TimeTick> ticks;  ///< Rising.
  std::vector<Band> bands;      ///< Shaded over every track.
  std::vector<Track> tracks;
};

enum class Styling : std::uint8_t {
  embedded,  ///< Complete in itself, for a file.
  by_page,   ///< Only classes (strip-…); the page's style sheet has the colours.
};

std::string svg(const StripChart& chart, Styling styling);

/// The table alternative: a row of heads, then one row from each tick to the next with the least
/// and greatest value of every ruled track, and for each kind of band how long it lasted.
std::vector<std::vector<std::string>> table(const StripChart& chart);

}  // namespace ebbwatch::charts
