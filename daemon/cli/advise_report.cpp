#include "cli/advise_report.h"

#include <algorithm>
#include <boost/json/array.hpp>
#include <boost/json/value.hpp>
#include <cmath>
#include <cstdio>

#include "core/wording.h"
#include "settings/plan.h"
#include "text/duration.h"

namespace ebbwatch {
namespace {

namespace json = boost::json;

constexpr std::size_t columns = 79;
constexpr double year_s = 365.0 * 86'400;
const DetectionWish usual_wish{std::nullopt, Rate{1, Rate::Per::year}};

std::string whole(std::uint64_t value) {
  return std::to_string(value);
}

std::string fixed(double value, int decimals) {
  char text[40];
  std::snprintf(text, sizeof text, "%.*f", decimals, value);
  return text;
}

/// Words of at most `columns`, the later lines indented.
std::string paragraph(const std::string& text, const std::string& first, const std::string& next) {
  std::string out, line = first;
  std::size_t at = 0;
  while (at < text.size()) {
    const auto end = std::min(text.find(' ', at), text.size());
    const std::string word = text.substr(at, end - at);
    if (line.size() + word.size() + 1 > columns && line.size() > next.size()) {
      out += line + "\n";
      line = next;
    }
    if (!line.empty() && line.back() != ' ') line += ' ';
    line += word;
    at = end + 1;
  }
  return out + line + "\n";
}

std::vector<DetectionWish> wishes_of(const Settings& settings) {
  std::vector<DetectionWish> all;
  for (const SiteSettings& site : settings.sites) {
    const DetectionWish of_site = apply(settings.wish, site.detection);
    for (const TankSettings& tank : site.tanks) {
      const DetectionWish of_tank = apply(of_site, tank.detection);
      for (const ControllerSettings& controller : tank.controllers) {
        DetectionWish wish = of_tank;
        if (controller.detection.tell_within) wish.tell_within = controller.detection.tell_within;
        if (controller.detection.false_alarms_at_most)
          wish.false_alarms_at_most = controller.detection.false_alarms_at_most;
        all.push_back(wish);
      }
    }
  }
  return all;
}

bool has_battery_backed(const WatchPlan& plan, SiteIndex site) {
  return std::any_of(plan.controllers.begin(), plan.controllers.end(), [&](const auto& it) {
    return it.supply == Supply::battery_backed && plan.tanks[it.tank.value].site == site;
  });
}

void advise_delay(AdviceOfOne& one, const Rate& rate) {
  const auto delay = advice::delay_for(one.measure, rate);
  const std::string wished = rate_text(rate);
  if (one.measure.watched < advice::history_least) {
    one.advice.push_back("Only " + span_text(one.measure.watched) +
                         " of history: ask again after a week. Start values are assumed until "
                         "then (half a silence a day of 5 min on average, 3 % loss).");
    return;
  }
  if (!delay) {
    one.advice.push_back("No on_delay under " + span_text(advice::outage_from) + " keeps " +
                         wished + ": look at its Wi-Fi, its power or its firmware first.");
  } else if (*delay > one.delay) {
    one.advice.push_back(
        "For at most " + wished + " set on_delay: " +
        duration_text(Span::of_min((*delay + Span::of_s(59)).us / Span::of_min(1).us)) +
        " (tells within " + span_text(advice::told_within(one.measure, *delay)) + "): of " +
        whole(one.measure.silences.count()) + " silences " +
        whole(one.measure.silences.longer_than(*delay)) + " were longer than that, " +
        whole(one.expected.seen) + " longer than the present delay.");
  } else if (*delay < one.delay / 2) {
    one.advice.push_back("It could be told sooner: with an on_delay of " + span_text(*delay) +
                         " (within " + span_text(advice::told_within(one.measure, *delay)) +
                         ") still no more than " + wished + " would be expected.");
  }
}

void advise_interval(AdviceOfOne& one) {
  const Span interval = one.measure.interval;
  const bool is_rare = one.told_within < interval * 3;
  if (!is_rare && advice::loss_of(one.measure) < 0.1) return;
  const double loss = 100 * advice::loss_of(one.measure);
  one.advice.push_back("Check in more often: at " + span_text(interval) + " only " +
                       fixed(one.told_within.seconds() / interval.seconds(), 1) +
                       " check-ins fit into the time to the telling, and " + fixed(loss, 1) +
                       " % of them are lost. " +
                       span_text(std::max(one.told_within / 6, Span::of_s(1))) +
                       " would give six.");
}

void advise_second(AdviceOfOne& one, const WatchPlan& plan) {
  const advice::Measure& it = one.measure;
  const TankPlan& tank = plan.tanks[plan.controllers[one.controller.value].tank.value];
  if (tank.controllers.size() > 1 || it.missed_three == 0 || it.watched < advice::history_least)
    return;
  const double share = it.silent.seconds() / it.watched.seconds();
  const double together = 2 * one.expected.a_year * share;
  one.advice.push_back("A second controller on a link and a supply of its own would make " +
                       advice::a_year_text(one.expected.a_year) + " false alarms a year about " +
                       advice::a_year_text(together) + ": this one is silent " +
                       fixed(100 * share, 2) + " % of the time (" + whole(it.missed_three) +
                       " silences of three check-ins or more), and both must be silent at once.");
}

void advise_battery(AdviceOfOne& one, const WatchPlan& plan) {
  const ControllerPlan& controller = plan.controllers[one.controller.value];
  const SiteIndex site = plan.tanks[controller.tank.value].site;
  const MainsReport& rule = controller.detection.mains_report;
  if (has_battery_backed(plan, site) || !rule.enabled || one.told_within <= rule.at_most) return;
  one.advice.push_back("A battery-backed controller at " + plan.sites[site.value].id +
                       " that reports mains off would have a power cut told after about " +
                       span_text(rule.at_least) + " to " + span_text(rule.at_most) +
                       " instead of up to " + span_text(one.told_within) + ".");
}

std::string quoted_limit(const advice::FalseAlarms& expected) {
  return expected.at_most ? " (95 %: at most " + advice::a_year_text(*expected.at_most) + ")"
                          : " (start values: too little history)";
}

}  // namespace

std::vector<AdviceOfOne> advise_all(const Settings& settings, const WatchPlan& plan,
                                    const advice::History& history) {
  std::vector<AdviceOfOne> all;
  const auto wishes = wishes_of(settings);
  for (std::uint32_t c = 0; c < plan.controllers.size(); ++c) {
    AdviceOfOne one;
    one.controller = {c};
    one.measure = history.controllers[c];
    one.wish = wishes[c];
    const Detection& rules = plan.controllers[c].detection;
    if (one.wish.tell_within && one.wish.false_alarms_at_most) {
      one.choice = advice::choose(one.wish, one.measure);
    }
    one.delay = std::max(rules.on_delay,
                         one.measure.interval * (static_cast<std::int64_t>(rules.min_missed) - 1));
    one.told_within = advice::told_within(one.measure, one.delay);
    one.expected = advice::false_alarms(one.measure, one.delay);
    advise_delay(one, one.wish.false_alarms_at_most.value_or(*usual_wish.false_alarms_at_most));
    advise_interval(one);
    advise_second(one, plan);
    advise_battery(one, plan);
    all.push_back(std::move(one));
  }
  return all;
}

std::string advice_text(const AdviceOfOne& one) {
  const advice::Measure& it = one.measure;
  std::string out = it.controller + "\n";
  const auto row = [&](const std::string& label, const std::string& value) {
    out +=
        paragraph(value, "  " + label + std::string(22 - label.size(), ' '), std::string(24, ' '));
  };
  row("watched", span_text(it.watched) + ", " + whole(it.heard) + " check-ins heard");
  row("interval, jitter", span_text(it.interval) + ", " + fixed(it.jitter_s, 2) + " s");
  const double share =
      it.expected > 0 ? 100.0 * static_cast<double>(it.lost) / static_cast<double>(it.expected) : 0;
  row("lost one by one",
      whole(it.lost) + " of " + whole(it.expected) + " (" + fixed(share, 2) + " %)");
  row("silences", whole(it.missed_three) + " of three check-ins or more, the longest " +
                      span_text(it.longest) + " overdue; " + whole(it.outages) + " of " +
                      span_text(advice::outage_from) + " or more, taken for outages");
  if (it.left_out > 0)
    row("left out", whole(it.left_out) + " gaps that were the watcher's own or announced");
  row("now", "told within " + span_text(one.told_within) + "; " +
                 advice::a_year_text(one.expected.a_year) + " false alarms a year" +
                 quoted_limit(one.expected));
  if (one.choice) row("wish", advice::sentence(*one.choice).substr(it.controller.size() + 2));
  for (const std::string& sentence : one.advice) out += paragraph(sentence, "  - ", "    ");
  return out;
}

std::string own_text(const advice::OwnMeasure& own, const std::string& watcher) {
  std::string out =
      paragraph("Watcher " + watcher + ": " + span_text(own.length) + " of history; not running " +
                    whole(own.stopped) + " times, cut off " + whole(own.cut_off) +
                    " times, together " + span_text(own.blind) + ".",
                "", "");
  if (own.length.us > 0 && own.blind.seconds() * 100 > own.length.seconds()) {
    out += paragraph("A witness elsewhere would cover the " +
                         fixed(100 * own.blind.seconds() / own.length.seconds(), 1) +
                         " % of the time in which this watcher could tell nothing (" +
                         fixed(own.blind.seconds() / own.length.seconds() * year_s / 3600, 0) +
                         " h a year).",
                     "- ", "  ");
  }
  return out;
}

json::object advice_json(const AdviceOfOne& one) {
  const advice::Measure& it = one.measure;
  json::object out;
  out["controller"] = it.controller;
  out["watched_s"] = it.watched.seconds();
  out["interval_s"] = it.interval.seconds();
  out["heard"] = it.heard;
  out["expected"] = it.expected;
  out["lost"] = it.lost;
  out["loss"] = advice::loss_of(it);
  out["jitter_s"] = it.jitter_s;
  out["silences"] = it.silences.count();
  out["silences_of_three"] = it.missed_three;
  out["longest_s"] = it.longest.seconds();
  out["outages"] = it.outages;
  out["left_out"] = it.left_out;
  out["delay_s"] = one.delay.seconds();
  out["told_within_s"] = one.told_within.seconds();
  out["false_alarms_a_year"] = one.expected.a_year;
  out["false_alarms_a_year_at_most"] =
      one.expected.at_most ? json::value(*one.expected.at_most) : json::value(nullptr);
  out["enough_history"] = it.watched >= advice::history_least;
  if (one.choice) {
    out["wish"] = {{"tell_within", duration_text(*one.wish.tell_within)},
                   {"false_alarms_at_most", rate_text(*one.wish.false_alarms_at_most)},
                   {"can_be_had", advice::can_be_had(*one.choice)},
                   {"says", advice::sentence(*one.choice)}};
  }
  json::array curve;
  for (const auto& series : advice::trade_off(it, one.delay, one.wish).series) {
    if (series.name != "expected") continue;
    for (const auto& point : series.points)
      curve.push_back({{"told_within_s", point.x}, {"false_alarms_a_year", point.y}});
  }
  out["curve"] = std::move(curve);
  out["advice"] = json::array(one.advice.begin(), one.advice.end());
  return out;
}

json::object own_json(const advice::OwnMeasure& own) {
  return {{"length_s", own.length.seconds()},
          {"blind_s", own.blind.seconds()},
          {"stopped", own.stopped},
          {"cut_off", own.cut_off}};
}

}  // namespace ebbwatch
