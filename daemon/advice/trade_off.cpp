#include "advice/trade_off.h"

#include <algorithm>

#include "core/wording.h"
#include "text/duration.h"

namespace ebbwatch::advice {

charts::LineChart trade_off(const Measure& measure, Span present, const DetectionWish& wish) {
  using charts::Mark;
  charts::LineChart chart;
  chart.id = "trade-off-" + measure.controller;
  chart.title = measure.controller + ": what waiting longer saves";
  chart.description =
      "For each time from the end of contact to the telling, how many false alarms "
      "a year the history of " +
      span_text(measure.watched) + " lets expect.";
  chart.x = {"Told within", charts::Spacing::logarithmic, charts::Measure::seconds, {}, {}};
  chart.y = {"False alarms a year", charts::Spacing::logarithmic, charts::Measure::number, {}, {}};
  charts::Series expected{"expected", {}, true};
  charts::Series at_most{"at most, with 95 % confidence", {}, true};
  for (Span delay = measure.interval; delay <= outage_from;
       delay = delay + std::max(delay / 8, Span::of_s(1))) {
    const FalseAlarms here = false_alarms(measure, delay);
    const double x = told_within(measure, delay).seconds();
    // What is rarer than once in ten thousand years is drawn as none.
    expected.points.push_back({x, here.a_year < 1e-4 ? 0 : here.a_year});
    if (here.at_most) at_most.points.push_back({x, *here.at_most});
  }
  chart.series.push_back(std::move(expected));
  if (!at_most.points.empty()) chart.series.push_back(std::move(at_most));
  const Span now = told_within(measure, present);
  chart.marks.push_back({Mark::Across::x, now.seconds(), "now: told within " + span_text(now)});
  if (wish.tell_within) {
    chart.marks.push_back({Mark::Across::x, wish.tell_within->seconds(),
                           "wished: within " + duration_text(*wish.tell_within)});
  }
  if (wish.false_alarms_at_most) {
    chart.marks.push_back({Mark::Across::y, wish.false_alarms_at_most->per_year(),
                           "wished: at most " + rate_text(*wish.false_alarms_at_most)});
  }
  return chart;
}

}  // namespace ebbwatch::advice
