#include "charts/strip_chart.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>

using namespace ebbwatch;
using namespace ebbwatch::charts;

namespace {

std::size_t count(const std::string& text, const std::string& part) {
  std::size_t n = 0;
  for (auto at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++n;
  return n;
}

/// Six hours: water that cools while contact is lost from 2 h to 4 h; nobody watched from 5 h on.
StripChart six_hours() {
  StripChart chart;
  chart.id = "lagoon";
  chart.title = "Lagoon reef";
  chart.description = "Contact was lost for two hours.";
  chart.to = 6 * 3600;
  for (int h = 0; h <= 6; h += 2) chart.ticks.push_back({h * 3600.0, std::to_string(h) + ":00"});
  chart.bands = {{Band::Kind::lost, 2 * 3600, 4 * 3600},
                 {Band::Kind::unwatched, 5 * 3600, 6 * 3600}};
  Track water;
  water.name = "Water, °C";
  water.points = {{0, 25.5},
                  {7200, 25.4},
                  {7201, std::numeric_limits<double>::quiet_NaN()},
                  {14400, 24.1},
                  {17000, 24.6}};
  water.low = 24;
  Track contact;
  contact.name = "lagoon-main";
  contact.ruled = false;
  chart.tracks = {water, contact};
  return chart;
}

}  // namespace

TEST_CASE("strip chart: the pen is lifted where nothing is known, and shading has a key") {
  const std::string drawn = svg(six_hours(), Styling::by_page);
  const auto d = drawn.find("strip-pen");
  REQUIRE(d != std::string::npos);
  const std::string path = drawn.substr(d, drawn.find("/>", d) - d);
  CHECK(count(path, "M") == 2);
  CHECK(count(drawn, "class=\"strip-lost\"") == 3);  // On both tracks and in the key.
  CHECK(count(drawn, "fill=\"url(#lagoon-hatch)\"") == 3);
  CHECK(drawn.find(">out of contact<") != std::string::npos);
  CHECK(drawn.find(">not watched<") != std::string::npos);
  CHECK(drawn.find("class=\"strip-limit\"") != std::string::npos);
}

TEST_CASE("strip chart: what a page embeds holds no style that its policy would refuse") {
  const std::string by_page = svg(six_hours(), Styling::by_page);
  CHECK(by_page.find("style") == std::string::npos);
  const std::string alone = svg(six_hours(), Styling::embedded);
  CHECK(alone.find("prefers-color-scheme:dark") != std::string::npos);
}

TEST_CASE("strip chart: many values on one place become one stroke from least to greatest") {
  StripChart chart = six_hours();
  auto& points = chart.tracks[0].points;
  points.clear();
  for (int i = 0; i < 100'000; ++i) points.push_back({i * 0.2, i == 777 ? 30.0 : 25.0});
  const std::string drawn = svg(chart, Styling::by_page);
  CHECK(drawn.size() < 60'000);
  CHECK(drawn.find("V") != std::string::npos);  // The one value of 30 is still seen.
}

TEST_CASE("strip chart: names cannot break out, and numbers are always numbers") {
  StripChart chart = six_hours();
  chart.title = chart.description = chart.tracks[0].name = chart.ticks[0].label = "<b>\"'&\x01";
  chart.id = "\"><script>";
  chart.tracks[0].points = {{0, std::numeric_limits<double>::infinity()}, {1e300, 1}};
  const std::string drawn = svg(chart, Styling::embedded);
  for (const char* part : {"<b>", "<script", "nan", "inf", "\x01"}) {
    CHECK(drawn.find(part) == std::string::npos);
  }
  chart.to = chart.from;
  CHECK(svg(chart, Styling::by_page).find("nan") == std::string::npos);
}

TEST_CASE("strip chart: the table says the same as the drawing") {
  std::string text;
  for (const auto& row : table(six_hours())) {
    for (const auto& cell : row) text += cell + " | ";
    text += "\n";
  }
  CHECK(text ==
        "From | Water, °C | lagoon-main | Out of contact | Not watched | \n"
        "0:00 | 25.5 | none lost | none | none | \n"
        "2:00 | 25.4 | none lost | 2 h | none | \n"
        "4:00 | 24.1 to 24.6 | none lost | none | 1 h | \n");
}

TEST_CASE("strip chart: seconds that two bands share count once") {
  StripChart chart = six_hours();
  chart.bands = {{Band::Kind::lost, 0, 3600}, {Band::Kind::lost, 1800, 5400}};
  CHECK(table(chart)[1][3] == "1.5 h");
}
