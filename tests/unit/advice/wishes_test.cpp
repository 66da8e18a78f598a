#include "advice/wishes.h"

#include "advice/trade_off.h"
#include "unit/settings/sample.h"

using namespace ebbwatch;
using namespace ebbwatch::advice;

namespace {

const DetectionWish wish{Span::of_min(10), Rate{1, Rate::Per::year}};

Measure measured(double days, std::initializer_list<double> silences_s) {
  Measure measure = nothing_measured("lagoon-main", Span::of_min(1));
  measure.watched = Span::of_seconds(days * 86'400);
  measure.heard = measure.expected = static_cast<std::uint64_t>(days * 1440);
  for (const double s : silences_s) measure.silences.add(Span::of_seconds(s));
  return measure;
}

}  // namespace

TEST_CASE("wishes: the delays keep the wished time, interval and margin included") {
  const Choice it = choose(wish, measured(30, {}));
  CHECK(it.on_delay.seconds() == doctest::Approx(507));  // 8 min and a settled 27 s.
  CHECK(it.told_within <= Span::of_min(10));
  CHECK(it.min_missed >= 2);
  CHECK(it.interval * it.min_missed <= it.on_delay + it.interval);
  CHECK(it.standing == Standing::likely);
  CHECK(sentence(it).find("too short to be sure") != std::string::npos);
}

TEST_CASE("wishes: years without a silence keep a wish for sure") {
  CHECK(choose(wish, measured(1200, {})).standing == Standing::kept);
}

TEST_CASE("wishes: one that cannot be had keeps its time and says what can be had instead") {
  const Choice it = choose(wish, measured(100, {700, 800, 900, 200}));
  CHECK(it.standing == Standing::too_many);
  CHECK(it.told_within <= Span::of_min(10));
  REQUIRE(it.instead_within.has_value());
  CHECK(it.instead_within->seconds() >= 960);
  CHECK(
      sentence(it) ==
      "lagoon-main: on_delay 507s, min_missed 2, told within 9 min 28 s; the wish of 1 per year "
      "cannot be had: about 11 false alarms a year expected (at most 28 with 95 % confidence; 3 in "
      "100 d); tell_within: 18min would keep it.");
  // It would indeed.
  const DetectionWish longer{it.instead_within, wish.false_alarms_at_most};
  CHECK(can_be_had(choose(longer, measured(100, {700, 800, 900, 200}))));
}

TEST_CASE(
    "wishes: an interval that is too long for the wished time is said, with one that serves") {
  Measure measure = measured(100, {});
  measure.interval = Span::of_min(8);
  const Choice it = choose(wish, measure);
  CHECK(it.standing == Standing::too_slow);
  CHECK(it.on_delay == Span::of_min(8));
  CHECK(it.min_missed == 2);
  REQUIRE(it.longest_interval.has_value());
  measure.interval = *it.longest_interval;
  CHECK(choose(wish, measure).standing != Standing::too_slow);
  CHECK(sentence(it).find("cannot be had with an interval of 8min; an interval of") !=
        std::string::npos);
}

TEST_CASE("wishes: without history start values serve and nothing is claimed") {
  const Choice it = choose(wish, nothing_measured("lagoon-main", Span::of_min(1)));
  CHECK(it.standing == Standing::unknown);
  CHECK(can_be_had(it));
  CHECK(sentence(it).find("nothing was measured yet") != std::string::npos);
}

TEST_CASE(
    "wishes: every wish in a range of them gives delays that keep the time or says otherwise") {
  for (int within_s = 2; within_s < 4000; within_s += 37) {
    for (const int interval_s : {1, 10, 60, 300, 3600}) {
      Measure measure = measured(50, {400});
      measure.interval = Span::of_s(interval_s);
      const Choice it = choose({Span::of_s(within_s), Rate{1, Rate::Per::month}}, measure);
      CAPTURE(within_s);
      CAPTURE(interval_s);
      CHECK(it.on_delay >= Span::of_s(1));
      CHECK(it.min_missed >= 2);
      CHECK((it.standing == Standing::too_slow) == (it.told_within > Span::of_s(within_s)));
      CHECK(sentence(it).size() > 20);
    }
  }
}

TEST_CASE("wishes: delays are written where a wish holds, and nowhere else") {
  const std::string yaml = test::changed(
      test::changed(test::sample, "detection:\n  on_delay: 5min",
                    "detection:\n  tell_within: 30min\n  false_alarms_at_most: 1 per month"),
      "interval: 5min, supply: battery_backed",
      "interval: 5min, supply: battery_backed, detection: {on_delay: 20min}");
  const Loaded loaded = load_settings_text(yaml, "f.yaml");
  REQUIRE(test::problems_of(loaded) == "");
  CHECK(has_wishes(loaded.settings));
  const auto chosen = choices(loaded.settings, {});
  REQUIRE(chosen.size() == 1);
  CHECK(chosen[0].controller == "lagoon-main");
  const Settings settled = with_choices(loaded.settings, chosen);
  const auto& controllers = settled.sites[0].tanks[0].controllers;
  CHECK(*controllers[0].detection.on_delay == chosen[0].on_delay);
  CHECK(*controllers[0].detection.min_missed == chosen[0].min_missed);
  CHECK(*controllers[1].detection.on_delay == Span::of_min(20));
  CHECK_FALSE(has_wishes(load_settings_text(test::sample, "f.yaml").settings));
}

TEST_CASE("wishes: the chart shows the history's curve, the present and the wish") {
  const charts::LineChart chart = trade_off(measured(100, {700, 200}), Span::of_min(5), wish);
  CHECK(chart.series.size() == 2);
  CHECK(chart.marks.size() == 3);
  for (std::size_t i = 1; i < chart.series[0].points.size(); ++i)
    CHECK(chart.series[0].points[i].y <= chart.series[0].points[i - 1].y);
  CHECK(trade_off(nothing_measured("a", Span::of_min(1)), Span::of_min(5), {}).series.size() == 1);
}

TEST_CASE("wishes: rates are short") {
  CHECK(a_year_text(0) == "0");
  CHECK(a_year_text(0.0004) == "0.01");
  CHECK(a_year_text(0.54) == "0.5");
  CHECK(a_year_text(10.95) == "11");
  CHECK(a_year_text(123456) == "123456");
}
