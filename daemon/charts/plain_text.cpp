// The text form. Where several series share a place their characters take turns.
#include <algorithm>
#include <array>
#include <cmath>

#include "charts/frame.h"
#include "charts/lettering.h"

namespace ebbwatch::charts {
namespace {

constexpr std::array series_letters{'*', 'o', 'x', '+', '#', '@', '%', '&'};
constexpr std::size_t labels_max = 12;

struct Strokes {
  const char *upright, *corner, *level, *tick_left, *tick_below, *mark_upright, *mark_level;
};
constexpr Strokes box{"│", "└", "─", "┤", "┬", "┊", "┈"};
constexpr Strokes plain{"|", "+", "-", "+", "+", ":", "."};

/// Cells of the plot; row 0 is the top.
class Canvas {
 public:
  Canvas(std::size_t columns, std::size_t rows)
      : columns_(columns), rows_(rows), cells_(columns * rows) {}
  std::size_t column(double place) const { return cell(place, columns_); }
  std::size_t row(double place) const { return rows_ - 1 - cell(place, rows_); }
  std::vector<std::uint8_t>& at(std::size_t column, std::size_t row) {
    return cells_[row * columns_ + column];
  }
  void put(std::size_t column, std::size_t row, std::size_t series) {
    auto& held = at(column, row);
    const auto number = static_cast<std::uint8_t>(series % series_letters.size());
    if (std::find(held.begin(), held.end(), number) == held.end()) held.push_back(number);
  }

 private:
  static std::size_t cell(double place, std::size_t count) {
    return static_cast<std::size_t>(std::lround(place * static_cast<double>(count - 1)));
  }
  std::size_t columns_, rows_;
  std::vector<std::vector<std::uint8_t>> cells_;
};

void join(Canvas& canvas, std::size_t series, std::array<std::size_t, 2> from,
          std::array<std::size_t, 2> to) {
  const auto difference = [&](int i) {
    return static_cast<double>(to[static_cast<std::size_t>(i)]) -
           static_cast<double>(from[static_cast<std::size_t>(i)]);
  };
  const double steps = std::max({std::fabs(difference(0)), std::fabs(difference(1)), 1.0});
  for (double i = 0; i <= steps; ++i) {
    const auto way = [&](int axis) {
      return static_cast<std::size_t>(
          std::lround(static_cast<double>(from[static_cast<std::size_t>(axis)]) +
                      difference(axis) * i / steps));
    };
    canvas.put(way(0), way(1), series);
  }
}

void draw(Canvas& canvas, const Frame& frame, const Series& series, std::size_t number) {
  std::optional<std::array<std::size_t, 2>> last;
  for (const Point& point : series.points) {
    if (!is_finite(point)) {
      last.reset();
      continue;
    }
    const std::array here{canvas.column(frame.x.place(point.x)),
                          canvas.row(frame.y.place(point.y))};
    canvas.put(here[0], here[1], number);
    if (last && series.joined) join(canvas, number, *last, here);
    last = here;
  }
}

/// The character of a cell without a series: part of a mark, or nothing.
std::string behind(const LineChart& chart, const Frame& frame, const Canvas& canvas,
                   const Strokes& strokes, std::size_t column, std::size_t row) {
  for (const Mark& mark : chart.marks) {
    if (!std::isfinite(mark.at)) continue;
    if (mark.axis == Mark::Across::x && canvas.column(frame.x.place(mark.at)) == column)
      return strokes.mark_upright;
    if (mark.axis == Mark::Across::y && canvas.row(frame.y.place(mark.at)) == row)
      return strokes.mark_level;
  }
  return " ";
}

std::string trimmed(std::string line) {
  line.erase(line.find_last_not_of(' ') + 1);
  return line + "\n";
}

std::string lines(const std::string& text, std::size_t columns, const std::string& indent = "") {
  std::string out;
  bool is_first = true;
  for (const std::string& line : wrapped(text, columns - indent.size())) {
    out += trimmed((is_first ? "" : indent) + line);
    is_first = false;
  }
  return out;
}

/// The labels under the x axis, those that would touch an earlier one left out.
std::string x_labels(const Frame& frame, const Canvas& canvas, std::size_t margin,
                     std::size_t columns) {
  std::string out;
  std::size_t free_from = 0;
  for (const Tick& tick : frame.x.ticks()) {
    const std::size_t size = width(tick.label);
    const std::size_t middle = margin + canvas.column(tick.place);
    std::size_t start = middle - std::min(middle, size / 2);
    if (start + size > columns) start = columns - std::min(columns, size);
    if (start < free_from) continue;
    out += std::string(start - out.size(), ' ') + tick.label;
    free_from = out.size() + 2;
  }
  return trimmed(out);
}

std::string legend(const LineChart& chart, const Strokes& strokes, std::size_t columns) {
  std::string out;
  for (std::size_t i = 0; i < chart.series.size(); ++i) {
    out += lines(std::string(1, series_letters[i % series_letters.size()]) + " " +
                     clean(chart.series[i].name),
                 columns, "  ");
  }
  for (const Mark& mark : chart.marks) {
    const char* stroke = mark.axis == Mark::Across::x ? strokes.mark_upright : strokes.mark_level;
    out += lines(std::string(stroke) + " " + clean(mark.name), columns, "  ");
  }
  return out;
}

std::size_t label_room(const Frame& frame) {
  std::size_t room = 1;
  for (const Tick& tick : frame.y.ticks()) room = std::max(room, width(tick.label));
  return std::min(room, labels_max);
}

}  // namespace

std::string plain_text(const LineChart& chart, const TextForm& form) {
  const std::size_t columns = std::clamp<std::size_t>(form.columns, 40, 200);
  const std::size_t rows = std::clamp<std::size_t>(form.rows, 4, 100);
  const Strokes& strokes = form.ascii ? plain : box;
  const Frame frame = frame_of(chart, static_cast<int>(columns / 10),
                               static_cast<int>(std::max<std::size_t>(rows / 3, 2)));
  const std::size_t room = label_room(frame);
  const std::size_t margin = room + 2;  // The labels, a space, the axis.
  Canvas canvas(columns - margin, rows);
  for (std::size_t i = 0; i < chart.series.size(); ++i) draw(canvas, frame, chart.series[i], i);

  std::vector<std::string> labels(rows);
  for (const Tick& tick : frame.y.ticks()) labels[canvas.row(tick.place)] = tick.label;
  std::string out = lines(clean(chart.title), columns) + lines(clean(chart.y.label), columns);
  for (std::size_t row = 0; row < rows; ++row) {
    std::string line = right_aligned(labels[row], room) + " " +
                       (labels[row].empty() ? strokes.upright : strokes.tick_left);
    for (std::size_t column = 0; column < columns - margin; ++column) {
      const auto& held = canvas.at(column, row);
      line += held.empty() ? behind(chart, frame, canvas, strokes, column, row)
                           : std::string(1, series_letters[held[column % held.size()]]);
    }
    out += trimmed(std::move(line));
  }
  std::string foot = std::string(room + 1, ' ') + strokes.corner;
  std::vector<bool> ticked(columns - margin);
  for (const Tick& tick : frame.x.ticks()) ticked[canvas.column(tick.place)] = true;
  for (const bool is_tick : ticked) foot += is_tick ? strokes.tick_below : strokes.level;
  out += foot + "\n" + x_labels(frame, canvas, margin, columns);
  out += right_aligned(clean(chart.x.label), columns) + "\n";
  if (frame.empty) out += "There is nothing to draw yet.\n";
  return out + legend(chart, strokes, columns);
}

}  // namespace ebbwatch::charts
