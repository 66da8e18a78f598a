// The SVG form: 360 units wide, so that its letters have their nominal size on a small phone and
// grow with the page elsewhere.
#include <algorithm>
#include <cmath>

#include "charts/frame.h"
#include "charts/lettering.h"
#include "charts/palette.h"
#include "charts/svg_text.h"

namespace ebbwatch::charts {
namespace {

constexpr double page_width = 360, plot_height = 190, pad = 8;
constexpr double line_height = 15, letter_width = 6.2;  // Of 11-unit letters, on average and above.
constexpr std::size_t line_letters =
    static_cast<std::size_t>((page_width - 2 * pad) / letter_width);
constexpr std::size_t markers_per_line_max = 12;

std::string style() {
  const auto colours = [](const char* Colour::*scheme) {
    std::string css = std::string(".ebb-chart{color:") + ink.*scheme +
                      "}.ebb-ground{fill:" + ground.*scheme + "}.ebb-faint{color:" + faint.*scheme +
                      "}";
    for (std::size_t i = 0; i < line_colours.size(); ++i) {
      css += ".ebb-line" + std::to_string(i) + "{color:" + line_colours[i].*scheme + "}";
    }
    return css;
  };
  return "<style>" + colours(&Colour::light) + "@media (prefers-color-scheme:dark){" +
         colours(&Colour::dark) + "}</style>\n";
}

std::string marker_at(std::size_t series, double x, double y) {
  const auto corner = [&](double dx, double dy) {
    return svg_number(x + dx) + " " + svg_number(y + dy);
  };
  const auto solid = [](const std::string& d) {
    return "<path d=\"M" + d + "Z\" fill=\"currentColor\"/>\n";
  };
  const auto strokes = [](const std::string& d) { return "<path d=\"M" + d + "\"/>\n"; };
  switch (markers[series % markers.size()]) {
    case Marker::circle:
      return "<circle cx=\"" + svg_number(x) + "\" cy=\"" + svg_number(y) +
             "\" r=\"2.8\" fill=\"currentColor\"/>\n";
    case Marker::square:
      return solid(corner(-2.5, -2.5) + "L" + corner(2.5, -2.5) + "L" + corner(2.5, 2.5) + "L" +
                   corner(-2.5, 2.5));
    case Marker::triangle:
      return solid(corner(0, -3.4) + "L" + corner(3.2, 2.4) + "L" + corner(-3.2, 2.4));
    case Marker::diamond:
      return solid(corner(0, -3.6) + "L" + corner(3.6, 0) + "L" + corner(0, 3.6) + "L" +
                   corner(-3.6, 0));
    case Marker::cross:
      return strokes(corner(-3, -3) + "L" + corner(3, 3) + "M" + corner(-3, 3) + "L" +
                     corner(3, -3));
    case Marker::plus:
      return strokes(corner(-3.6, 0) + "L" + corner(3.6, 0) + "M" + corner(0, -3.6) + "L" +
                     corner(0, 3.6));
  }
  return "";
}

class Drawing {
 public:
  explicit Drawing(const LineChart& chart) : chart_(chart), frame_(frame_of(chart, 6, 7)) {
    std::size_t letters = 1;
    for (const Tick& tick : frame_.y.ticks()) letters = std::max(letters, width(tick.label));
    left_ = pad + static_cast<double>(letters) * letter_width + 6;
  }
  std::string text();

 private:
  double x(double value) const { return left_ + frame_.x.place(value) * (right_ - left_); }
  double y(double value) const { return top_ + (1 - frame_.y.place(value)) * plot_height; }
  void heading();
  void axes();
  void marks();
  void series(std::size_t number);
  void markers_of(std::size_t number, const std::vector<std::pair<double, double>>& places);
  void legend();
  std::string description() const;

  const LineChart& chart_;
  Frame frame_;
  double left_ = 0, right_ = page_width - pad - 8, top_ = 0, next_line_ = 0;
  std::string out_;
};

void Drawing::heading() {
  next_line_ = pad + line_height - 3;
  for (const std::string& line : wrapped(clean(chart_.title), line_letters - 6)) {
    out_ += svg_words(pad, next_line_, "start", line, " font-size=\"12.5\" font-weight=\"600\"");
    next_line_ += line_height;
  }
  for (const std::string& line : wrapped(clean(chart_.y.label), line_letters)) {
    out_ += svg_words(pad, next_line_, "start", line);
    next_line_ += line_height;
  }
  top_ = next_line_ - 4;
}

void Drawing::axes() {
  const double foot = top_ + plot_height;
  out_ += "<g class=\"ebb-faint\" stroke=\"currentColor\" stroke-width=\"0.5\">\n";
  for (const Tick& tick : frame_.y.ticks()) {
    const double at = foot - tick.place * plot_height;
    out_ += svg_line(left_, at, right_, at, " stroke-opacity=\"0.35\"");
  }
  for (const Tick& tick : frame_.x.ticks()) {
    const double at = left_ + tick.place * (right_ - left_);
    out_ += svg_line(at, top_, at, foot + 3, " stroke-opacity=\"0.35\"");
  }
  out_ += svg_line(left_, top_, left_, foot) + svg_line(left_, foot, right_, foot) + "</g>\n";
  for (const Tick& tick : frame_.y.ticks()) {
    out_ += svg_words(left_ - 4, foot - tick.place * plot_height + 3.5, "end", tick.label);
  }
  double free_from = 0;
  for (const Tick& tick : frame_.x.ticks()) {
    const double half = static_cast<double>(width(tick.label)) * letter_width / 2;
    const double at = std::min(left_ + tick.place * (right_ - left_), page_width - pad / 2 - half);
    if (at - half < free_from) continue;
    out_ += svg_words(at, foot + 14, "middle", tick.label);
    free_from = at + half + 4;
  }
  next_line_ = foot + 14 + line_height;
  for (const std::string& line : wrapped(clean(chart_.x.label), line_letters)) {
    out_ += svg_words(right_, next_line_, "end", line);
    next_line_ += line_height;
  }
}

void Drawing::marks() {
  for (const Mark& mark : chart_.marks) {
    if (!std::isfinite(mark.at)) continue;
    const bool upright = mark.axis == Mark::Across::x;
    out_ += svg_line(upright ? x(mark.at) : left_, upright ? top_ : y(mark.at),
                     upright ? x(mark.at) : right_, upright ? top_ + plot_height : y(mark.at),
                     " stroke=\"currentColor\" stroke-width=\"1\" stroke-dasharray=\"3 3\"");
  }
}

void Drawing::markers_of(std::size_t number, const std::vector<std::pair<double, double>>& places) {
  const std::size_t every =
      chart_.series[number].joined
          ? std::max<std::size_t>((places.size() + markers_per_line_max - 1) / markers_per_line_max,
                                  1)
          : 1;
  for (std::size_t i = 0; i < places.size(); i += every) {
    out_ += marker_at(number, places[i].first, places[i].second);
  }
}

void Drawing::series(std::size_t number) {
  const Series& it = chart_.series[number];
  out_ += "<g class=\"ebb-line" + std::to_string(number % line_colours.size()) +
          "\" stroke=\"currentColor\" fill=\"none\" stroke-width=\"1.6\">\n<title>" +
          escaped(it.name) + "</title>\n";
  std::vector<std::pair<double, double>> places;
  std::string d;
  bool is_broken = true;
  for (const Point& point : it.points) {
    if (!is_finite(point)) {
      is_broken = true;
      continue;
    }
    const std::pair place{x(point.x), y(point.y)};
    // Points that fall on the one before add nothing that can be seen.
    const bool is_same = !is_broken && std::fabs(place.first - places.back().first) < 0.2 &&
                         std::fabs(place.second - places.back().second) < 0.2;
    if (is_same) continue;
    d += (is_broken ? "M" : "L") + svg_number(place.first) + " " + svg_number(place.second);
    is_broken = false;
    places.push_back(place);
  }
  const std::string dash = dashes[number % dashes.size()];
  if (it.joined && !d.empty()) {
    out_ += "<path d=\"" + d + "\"" + (dash.empty() ? "" : " stroke-dasharray=\"" + dash + "\"") +
            "/>\n";
  }
  markers_of(number, places);
  out_ += "</g>\n";
}

void Drawing::legend() {
  const auto entry = [&](const std::string& name) {
    for (const std::string& line : wrapped(clean(name), line_letters - 6)) {
      out_ += svg_words(pad + 34, next_line_ + 4, "start", line);
      next_line_ += line_height;
    }
  };
  next_line_ += 4;
  if (frame_.empty) entry("There is nothing to draw yet.");
  for (std::size_t i = 0; i < chart_.series.size(); ++i) {
    const std::string dash = dashes[i % dashes.size()];
    out_ += "<g class=\"ebb-line" + std::to_string(i % line_colours.size()) +
            "\" stroke=\"currentColor\" fill=\"none\" stroke-width=\"1.6\">\n";
    if (chart_.series[i].joined) {
      out_ += svg_line(pad, next_line_, pad + 28, next_line_,
                       dash.empty() ? "" : " stroke-dasharray=\"" + dash + "\"");
    }
    out_ += marker_at(i, pad + 14, next_line_) + "</g>\n";
    entry(chart_.series[i].name);
  }
  for (const Mark& mark : chart_.marks) {
    const bool upright = mark.axis == Mark::Across::x;
    out_ += svg_line(upright ? pad + 14 : pad, upright ? next_line_ - 6 : next_line_,
                     upright ? pad + 14 : pad + 28, upright ? next_line_ + 6 : next_line_,
                     " stroke=\"currentColor\" stroke-width=\"1\" stroke-dasharray=\"3 3\"");
    entry(mark.name);
  }
}

std::string Drawing::description() const {
  const auto named = [](const Axis& axis, double value) {
    return axis.measure == Measure::seconds ? seconds_label(value) : number_label(value);
  };
  std::string out = chart_.description;
  for (const Series& it : chart_.series) {
    const auto first = std::find_if(it.points.begin(), it.points.end(), is_finite);
    const auto last = std::find_if(it.points.rbegin(), it.points.rend(), is_finite);
    if (first == it.points.end()) continue;
    out += (out.empty() ? "" : " ") + it.name + ": from " + named(chart_.y, first->y) + " at " +
           named(chart_.x, first->x) + " to " + named(chart_.y, last->y) + " at " +
           named(chart_.x, last->x) + ".";
  }
  return out;
}

std::string Drawing::text() {
  heading();
  axes();
  marks();
  for (std::size_t i = 0; i < chart_.series.size(); ++i) series(i);
  legend();
  const std::string id = svg_id(chart_.id, "chart");
  const std::string height = svg_number(next_line_ + pad / 2);
  std::string head =
      "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"ebb-chart\" role=\"img\""
      " aria-labelledby=\"" +
      id + "-title " + id + "-desc\" viewBox=\"0 0 " + svg_number(page_width) + " " + height +
      "\" style=\"width:100%;max-width:45em\""
      " font-family=\"system-ui,sans-serif\" font-size=\"11\">\n";
  head += "<title id=\"" + id + "-title\">" + escaped(chart_.title) + "</title>\n";
  head += "<desc id=\"" + id + "-desc\">" + escaped(description()) + "</desc>\n" + style();
  head += "<rect class=\"ebb-ground\" width=\"" + svg_number(page_width) + "\" height=\"" + height +
          "\"/>\n<g fill=\"currentColor\">\n";
  return head + out_ + "</g>\n</svg>\n";
}

}  // namespace

std::string svg(const LineChart& chart) {
  return Drawing(chart).text();
}

}  // namespace ebbwatch::charts
