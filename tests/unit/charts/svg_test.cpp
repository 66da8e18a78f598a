#include <doctest/doctest.h>

#include <cmath>
#include <limits>

#include "charts/line_chart.h"
#include "charts/palette.h"
#include "sample.h"

using namespace ebbwatch;
using namespace ebbwatch::charts;

namespace {

std::size_t count(const std::string& text, const std::string& part) {
  std::size_t found = 0;
  for (auto at = text.find(part); at != text.npos; at = text.find(part, at + 1)) ++found;
  return found;
}

/// Relative luminance and contrast, WCAG 2.2 (definitions of "relative luminance" and "contrast
/// ratio").
double luminance(const std::string& hex) {
  const auto channel = [&](std::size_t at) {
    const double c = std::stoi(hex.substr(at, 2), nullptr, 16) / 255.0;
    return c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
  };
  return 0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5);
}
double contrast(const std::string& a, const std::string& b) {
  const double x = luminance(a), y = luminance(b);
  return (std::max(x, y) + 0.05) / (std::min(x, y) + 0.05);
}

/// Names of the elements that are open at the end; empty when every one is closed in order.
std::string unclosed(const std::string& xml) {
  std::vector<std::string> open;
  for (auto at = xml.find('<'); at != xml.npos; at = xml.find('<', at + 1)) {
    const auto end = xml.find('>', at);
    if (end == xml.npos) return "a tag without end";
    const std::string tag = xml.substr(at + 1, end - at - 1);
    const std::string name = tag.substr(0, tag.find_first_of(" /", 1));
    if (tag.front() == '/') {
      if (open.empty() || "/" + open.back() != name) return name + " out of order";
      open.pop_back();
    } else if (tag.back() != '/') {
      open.push_back(name);
    }
  }
  return open.empty() ? "" : open.back();
}

}  // namespace

TEST_CASE("svg: it is one complete element with a title and a description for screen readers") {
  const std::string text = svg(test::sample_chart());
  CHECK(text.starts_with("<svg xmlns=\"http://www.w3.org/2000/svg\""));
  CHECK(unclosed(text) == "");
  CHECK(count(text, "role=\"img\" aria-labelledby=\"trade-off-title trade-off-desc\"") == 1);
  CHECK(count(text, "<title id=\"trade-off-title\">Detection time against false alarms</title>") ==
        1);
  CHECK(count(text,
              "<desc id=\"trade-off-desc\">Longer waits give fewer false alarms. "
              "lagoon-main: from 300 at 1 min to 0 at 1 h. frag-main: from 30 at 1 min to 0.1 at "
              "1 h.</desc>") == 1);
}

TEST_CASE("svg: series differ in dash and marker as well as in colour") {
  const std::string text = svg(test::sample_chart());
  CHECK(count(text, "stroke-dasharray=\"6 3\"") == 2);  // The second line and its legend.
  CHECK(count(text, "<circle") == 4 + 1);
  CHECK(count(text, ">lagoon-main</text>") == 1);
  CHECK(count(text, ">frag-main</text>") == 1);
  CHECK(count(text, ">wished: told within 10 min</text>") == 1);
}

TEST_CASE("svg: it follows the reader's scheme, with enough contrast in both") {
  const std::string text = svg(test::sample_chart());
  CHECK(count(text, "@media (prefers-color-scheme:dark)") == 1);
  for (const Colour& colour : line_colours) {
    CHECK(contrast(colour.light, ground.light) >= 4.5);
    CHECK(contrast(colour.dark, ground.dark) >= 4.5);
  }
  for (const Colour& colour : {ink, faint}) {
    CHECK(contrast(colour.light, ground.light) >= 4.5);
    CHECK(contrast(colour.dark, ground.dark) >= 4.5);
  }
  CHECK(contrast("#000000", "#ffffff") == doctest::Approx(21));  // WCAG 2.2: the greatest ratio.
}

TEST_CASE("svg: names cannot break out of their place") {
  LineChart chart = test::sample_chart();
  const std::string evil = "</text><script>alert('x')</script> & \"quoted\" \x01\xFF";
  chart.title = chart.description = chart.x.label = chart.series[0].name = chart.marks[0].name =
      evil;
  chart.id = "\"><script>";
  const std::string text = svg(chart);
  CHECK(count(text, "<script") == 0);
  CHECK(unclosed(text) == "");
  CHECK(text.find('\x01') == text.npos);
  CHECK(text.find('\xFF') == text.npos);
}

TEST_CASE("svg: nothing that is not a number is ever drawn") {
  constexpr double infinity = std::numeric_limits<double>::infinity();
  LineChart chart = test::sample_chart();
  chart.series[0].points = {
      {60, infinity}, {-infinity, 3}, {std::nan(""), 1}, {300, 20}, {1e308, 1e308}};
  chart.marks[0].at = infinity;
  for (const Spacing spacing : {Spacing::linear, Spacing::logarithmic}) {
    chart.x.spacing = chart.y.spacing = spacing;
    std::string text = svg(chart);
    text.erase(0, text.find("<rect"));
    CHECK(count(text, "nan") == 0);
    CHECK(count(text, "inf") == 0);
  }
}

TEST_CASE("svg: a line of a hundred thousand points keeps only those that can be seen apart") {
  LineChart chart;
  chart.series = {{"level", {}, true}};
  for (int i = 0; i < 100'000; ++i) chart.series[0].points.push_back({static_cast<double>(i), 1});
  CHECK(svg(chart).size() < 30'000);
}

TEST_CASE("svg: without data it says so") {
  CHECK(count(svg(LineChart{}), "There is nothing to draw yet.") == 1);
  CHECK(unclosed(svg(LineChart{})) == "");
}
