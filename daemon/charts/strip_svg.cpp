// The strip chart's drawing.
#include <algorithm>
#include <cmath>

#include "charts/frame.h"
#include "charts/lettering.h"
#include "charts/palette.h"
#include "charts/strip_chart.h"
#include "charts/svg_text.h"

namespace ebbwatch::charts {
namespace {

constexpr double page_width = 360, pad = 6, line_height = 14, letter_width = 6;
constexpr double left = 44, right = page_width - pad;
constexpr double ruled_height = 64, plain_height = 12;
constexpr double column = 0.5;  ///< Values nearer than this become one stroke.
constexpr auto line_letters = static_cast<std::size_t>((page_width - 2 * pad) / letter_width);

std::string css(const Colour& one, const char* Colour::*scheme, const char* what,
                const char* name) {
  return std::string(".strip-") + name + "{" + what + ":" + one.*scheme + "}";
}

std::string scheme_css(const char* Colour::*scheme) {
  return css(ground, scheme, "fill", "paper") + css(ink, scheme, "fill", "words") +
         css(faint, scheme, "stroke", "rule") + css(line_colours[0], scheme, "stroke", "pen") +
         css(ink, scheme, "stroke", "edge") + css(line_colours[1], scheme, "fill", "lost") +
         css(faint, scheme, "stroke", "hatch") + css(line_colours[1], scheme, "stroke", "limit");
}

/// The title is larger and bolder.
constexpr std::size_t title_letters = line_letters * 3 / 4;

/// A day's outage must still be seen on a month of paper.
constexpr double band_width_min = 0.8;

class Strip {
 public:
  explicit Strip(const StripChart& chart) : chart_(chart), id_(svg_id(chart.id, "strip")) {}
  std::string text(Styling styling);

 private:
  double x(double at) const {
    const double span = chart_.to - chart_.from;
    const double place = span > 0 ? (at - chart_.from) / span : 0;
    return left + std::clamp(place, 0.0, 1.0) * (right - left);
  }
  void heading();
  void time_rules(double top, double foot, bool labels);
  void band(const Band& band, double top, double foot);
  void bands(const Track& track, double top, double foot);
  void track(const Track& track);
  void pen(const Track& track, const Scale& scale, double top);
  void key();

  const StripChart& chart_;
  std::string id_, out_;
  double next_ = 0;
};

void Strip::heading() {
  next_ = pad + line_height - 4;
  for (const std::string& line : wrapped(clean(chart_.title), title_letters)) {
    out_ += svg_words(pad, next_, "start", line, " font-size=\"12.5\" font-weight=\"600\"");
    next_ += line_height;
  }
  next_ -= line_height / 2;
}

void Strip::time_rules(double top, double foot, bool labels) {
  out_ += "<g class=\"strip-rule\" stroke-width=\"0.5\" stroke-opacity=\"0.5\">\n";
  for (const TimeTick& tick : chart_.ticks) {
    if (tick.at < chart_.from || tick.at > chart_.to) continue;
    out_ += svg_line(x(tick.at), top, x(tick.at), foot + (labels ? 3 : 0));
  }
  out_ += "</g>\n";
  if (!labels) return;
  double free_from = 0;
  for (const TimeTick& tick : chart_.ticks) {
    if (tick.at < chart_.from || tick.at > chart_.to) continue;
    const std::string label = clean(tick.label);
    const double half = static_cast<double>(width(label)) * letter_width / 2;
    const double at = std::min(x(tick.at), page_width - 2 - half);
    if (at - half < free_from) continue;
    out_ += svg_words(at, foot + 13, "middle", label);
    free_from = at + half + 5;
  }
}

void Strip::band(const Band& band, double top, double foot) {
  if (band.to < chart_.from || band.from > chart_.to) return;
  const double from = x(band.from);
  const double wide = std::max(x(band.to) - from, band_width_min);
  const bool lost = band.kind == Band::Kind::lost;
  out_ += "<rect x=\"" + svg_number(from) + "\" y=\"" + svg_number(top) + "\" width=\"" +
          svg_number(wide) + "\" height=\"" + svg_number(foot - top) + "\"" +
          (lost ? " class=\"strip-lost\" fill-opacity=\"0.55\"/>\n"
                : " fill=\"url(#" + id_ + "-hatch)\"/>\n");
}

void Strip::bands(const Track& track, double top, double foot) {
  for (const Band& one : chart_.bands) band(one, top, foot);
  for (const Band& one : track.bands) band(one, top, foot);
}

void Strip::pen(const Track& track, const Scale& scale, double top) {
  const auto y = [&](double value) { return top + (1 - scale.place(value)) * ruled_height; };
  std::string d;
  bool lifted = true;
  for (std::size_t i = 0; i < track.points.size();) {
    if (!is_finite(track.points[i])) {
      lifted = true;
      ++i;
      continue;
    }
    const double at = x(track.points[i].x);
    double least = track.points[i].y, most = least, last = least;
    const double first = least;
    for (++i; i < track.points.size() && is_finite(track.points[i]) &&
              x(track.points[i].x) - at < column;
         ++i) {
      last = track.points[i].y;
      least = std::min(least, last);
      most = std::max(most, last);
    }
    d += std::string(lifted ? "M" : "L") + svg_number(at) + " " + svg_number(y(first));
    if (least < most) {
      d += "V" + svg_number(y(least)) + "V" + svg_number(y(most)) + "V" + svg_number(y(last));
    } else if (lifted) {
      d += "h0.1";  // So that one value alone leaves a dot.
    }
    lifted = false;
  }
  if (d.empty()) return;
  out_ +=
      "<path class=\"strip-pen\" fill=\"none\" stroke-width=\"1.2\" stroke-linejoin=\"round\" "
      "stroke-linecap=\"round\" d=\"" +
      d + "\"/>\n";
}

void Strip::track(const Track& track) {
  next_ += line_height;
  for (const std::string& line : wrapped(clean(track.name), line_letters)) {
    out_ += svg_words(pad, next_, "start", line);
    next_ += line_height;
  }
  const double top = next_ - line_height + 10;  // Below the name there is room for a figure.
  const double foot = top + (track.ruled ? ruled_height : plain_height);
  bands(track, top, foot);
  time_rules(top, foot, &track == &chart_.tracks.back());
  if (track.ruled) {
    Extent extent;
    for (const Point& point : track.points) {
      if (is_finite(point)) extent.add(point.y);
    }
    for (const auto& limit : {track.low, track.high}) {
      if (limit) extent.add(*limit);
    }
    const Axis axis{track.name, track.spacing, track.measure, {}, {}};
    const Scale scale(axis, extent, 4);
    for (const Tick& tick : scale.ticks()) {
      const double at = foot - tick.place * ruled_height;
      out_ += "<g class=\"strip-rule\" stroke-width=\"0.5\" stroke-opacity=\"0.5\">" +
              svg_line(left, at, right, at) + "</g>" +
              svg_words(left - 3, at + 3.5, "end", tick.label);
    }
    for (const auto& limit : {track.low, track.high}) {
      if (!limit) continue;
      const double at = foot - scale.place(*limit) * ruled_height;
      out_ += "<g class=\"strip-limit\" stroke-width=\"1\" stroke-dasharray=\"5 3\">" +
              svg_line(left, at, right, at) + "</g>";
    }
    if (extent.any) {
      pen(track, scale, top);
    } else {
      out_ += svg_words(left + 6, top + ruled_height / 2 + 4, "start", "nothing reported");
    }
  }
  out_ += "<rect class=\"strip-edge\" fill=\"none\" stroke-width=\"1\" x=\"" + svg_number(left) +
          "\" y=\"" + svg_number(top) + "\" width=\"" + svg_number(right - left) + "\" height=\"" +
          svg_number(foot - top) + "\"/>\n";
  next_ = foot;
}

void Strip::key() {
  bool lost = false, unwatched = false;
  const auto look = [&](const std::vector<Band>& bands) {
    for (const Band& one : bands) (one.kind == Band::Kind::lost ? lost : unwatched) = true;
  };
  look(chart_.bands);
  for (const Track& one : chart_.tracks) look(one.bands);
  next_ += line_height + 14;
  const auto entry = [&](Band::Kind kind, const char* words) {
    const double span = chart_.to - chart_.from;
    band({kind, chart_.from, chart_.from + span * 18 / (right - left)}, next_ - 9, next_ + 1);
    out_ += svg_words(left + 24, next_, "start", words);
    next_ += line_height;
  };
  if (lost) entry(Band::Kind::lost, "out of contact");
  if (unwatched) entry(Band::Kind::unwatched, "not watched");
}

std::string Strip::text(Styling styling) {
  heading();
  for (const Track& one : chart_.tracks) track(one);
  key();
  const std::string height = svg_number(next_);
  std::string head = std::string("<svg") +
                     (styling == Styling::embedded ? " xmlns=\"http://www.w3.org/2000/svg\"" : "") +
                     " class=\"strip\" role=\"img\" aria-labelledby=\"" + id_ + "-title " + id_ +
                     "-desc\" viewBox=\"0 0 " + svg_number(page_width) + " " + height +
                     "\" font-family=\"system-ui,sans-serif\" font-size=\"10.5\">\n";
  head += "<title id=\"" + id_ + "-title\">" + escaped(chart_.title) + "</title>\n<desc id=\"" +
          id_ + "-desc\">" + escaped(chart_.description) + "</desc>\n";
  if (styling == Styling::embedded) {
    head += "<style>.strip{width:100%;max-width:60em}" + scheme_css(&Colour::light) +
            "@media (prefers-color-scheme:dark){" + scheme_css(&Colour::dark) + "}</style>\n";
  }
  head += "<defs><pattern id=\"" + id_ +
          "-hatch\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\"><path "
          "class=\"strip-hatch\" d=\"M0 5L5 0\" stroke-width=\"1.2\"/></pattern></defs>\n"
          "<rect class=\"strip-paper\" width=\"" +
          svg_number(page_width) + "\" height=\"" + height + "\"/>\n<g class=\"strip-words\">\n";
  return head + out_ + "</g>\n</svg>\n";
}

}  // namespace

std::string svg(const StripChart& chart, Styling styling) {
  return Strip(chart).text(styling);
}

}  // namespace ebbwatch::charts
