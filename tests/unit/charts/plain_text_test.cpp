#include <doctest/doctest.h>

#include <cmath>
#include <limits>

#include "charts/lettering.h"
#include "sample.h"

using namespace ebbwatch;
using namespace ebbwatch::charts;

namespace {

std::size_t widest(const std::string& text) {
  std::size_t most = 0;
  for (std::size_t at = 0; at < text.size();) {
    const auto end = text.find('\n', at);
    most = std::max(most, width(std::string_view(text).substr(at, end - at)));
    at = end + 1;
  }
  return most;
}

}  // namespace

TEST_CASE("text chart: it looks like this") {
  CHECK("\n" + plain_text(test::sample_chart(), {60, 10, true}) == R"(
Detection time against false alarms
False alarms a year
1000 +                              :
     |****                          :
     |    *******                   :
     |oooo       *******            :
  10 +    ooooooo       *******     :
     |           ooooooo       *******
     |..................ooooooooooo.:.******................
     |                             ooooooooo*o*o*oo
 0.1 +                              :             *o*o*ooooo
   0 +                              :                   ****
     ++--------+-----------+--------+-------------+--------+
    1 min    2 min       5 min   10 min        30 min    1 h
                                              Detection time
* lagoon-main
o frag-main
: wished: told within 10 min
. wished: at most 1 a year
)");
}

TEST_CASE("text chart: lines keep to the columns, with box characters and without") {
  LineChart chart = test::sample_chart();
  chart.title = "A title that is much longer than forty columns, to be broken over lines";
  chart.series[0].name = std::string(300, 'n');
  for (const std::size_t columns : {40, 60, 78, 200}) {
    for (const bool ascii : {false, true})
      CHECK(widest(plain_text(chart, {columns, 16, ascii})) <= columns);
  }
  CHECK(widest(plain_text(chart, {0, 0, false})) <= 40);
}

TEST_CASE("text chart: a plain one holds plain characters only") {
  for (const char c : plain_text(test::sample_chart(), {78, 16, true})) {
    CHECK((c == '\n' || (c >= 0x20 && c < 0x7F)));
  }
}

TEST_CASE("text chart: where lines lie on each other both are seen") {
  LineChart chart;
  chart.series = {{"one", {{0, 1}, {10, 1}}, true}, {"two", {{0, 1}, {10, 1}}, true}};
  CHECK(plain_text(chart, {60, 6, true}).find("*o*o*o*o") != std::string::npos);
}

TEST_CASE("text chart: points that are not finite break the line and are not drawn") {
  constexpr double nan = std::numeric_limits<double>::quiet_NaN();
  LineChart chart;
  chart.series = {{"one", {{0, 1}, {1, 1}, {2, nan}, {9, 1}, {10, 1}}, true}};
  const std::string text = plain_text(chart, {60, 6, true});
  CHECK(text.find("**       ") != std::string::npos);
  CHECK(text.find("nan") == std::string::npos);
}

TEST_CASE("text chart: without data it says so") {
  CHECK(plain_text(LineChart{}).find("nothing to draw") != std::string::npos);
}
