#include "advice/wishes.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "core/qos.h"
#include "core/wording.h"
#include "text/duration.h"

namespace ebbwatch::advice {
namespace {

constexpr double year_s = 365.0 * 86'400;

/// The longest delay that ends by `latest` without ending just before a check-in that could still
/// refute it: for that one the core waits (half an interval and a margin at most).
Span settled_delay(Span latest, const Measure& measure) {
  const Span interval = measure.interval;
  const Span margin = margin_of(measure);
  const Span phase{latest.us % interval.us};
  const Span settled = interval / 2 - margin * 2;
  const bool waits = settled > margin && phase > settled;
  const Span delay = waits ? latest - phase + settled : latest;
  return delay >= Span::of_s(1) ? delay - Span{delay.us % Span::of_s(1).us} : delay;
}

std::uint32_t missed_for(const DetectionWish& wish, Span delay, const Measure& measure) {
  const double interval_s = measure.interval.seconds();
  const auto most =
      static_cast<std::uint32_t>(std::clamp(delay.seconds() / interval_s + 1, 2.0, 1000.0));
  for (std::uint32_t missed = 2; missed < most; ++missed) {
    const double between =
        qos::between_mistakes_s(interval_s, loss_of(measure), static_cast<int>(missed));
    if (year_s / between <= wish.false_alarms_at_most->per_year()) return missed;
  }
  return most;
}

std::optional<Span> longest_interval(const DetectionWish& wish, const Measure& measure) {
  const double within_s = wish.tell_within->seconds();
  const qos::Wish asked{within_s, year_s / wish.false_alarms_at_most->per_year(), within_s};
  const auto found =
      qos::configure(asked, loss_of(measure), 0, measure.jitter_s * measure.jitter_s);
  if (!found) return std::nullopt;
  // One lost check-in alone must never tell.
  const double seconds = std::floor(std::min(found->detector.interval_s, within_s / 2.1));
  return seconds >= 1 ? std::optional(Span::of_seconds(seconds)) : std::nullopt;
}

std::string longer_history(const Choice& it) {
  return it.watched < Span::of_h(1) ? "nothing was measured yet"
                                    : "only " + span_text(it.watched) + " of history";
}

std::string expectation(const Choice& it) {
  std::string text = "about " + a_year_text(it.expected.a_year) + " false alarms a year expected";
  if (it.expected.at_most) {
    text += " (at most " + a_year_text(*it.expected.at_most) + " with 95 % confidence; " +
            std::to_string(it.expected.seen) + " in " + span_text(it.watched) + ")";
  }
  return text;
}

std::string verdict(const Choice& it) {
  const std::string wished = rate_text(*it.wish.false_alarms_at_most);
  switch (it.standing) {
    case Standing::kept:
      return expectation(it) + "; the wish is kept";
    case Standing::likely:
      return expectation(it) +
             "; nothing speaks against the wish, the history is too short to be sure";
    case Standing::unknown:
      return longer_history(it) + ", by start values " + expectation(it) +
             "; judged after a week of history";
    case Standing::too_many: {
      std::string text = "the wish of " + wished + " cannot be had: " + expectation(it);
      if (it.instead_within) {
        return text + "; tell_within: " + duration_text(*it.instead_within) + " would keep it";
      }
      return text + "; no on_delay under " + span_text(outage_from) + " would keep it";
    }
    case Standing::too_slow: {
      std::string text = "the wish of " + duration_text(*it.wish.tell_within) +
                         " cannot be had with an interval of " + duration_text(it.interval);
      if (it.longest_interval) {
        text += "; an interval of " + duration_text(*it.longest_interval) + " would serve";
      }
      return text + "; " + expectation(it);
    }
  }
  return "";
}

}  // namespace

std::string a_year_text(double a_year) {
  if (a_year <= 0) return "0";
  if (a_year < 0.01) return "0.01";
  std::array<char, 32> text{};
  const double step = a_year < 0.1 ? 0.01 : a_year < 10 ? 0.1 : 1;
  const auto end = std::to_chars(text.data(), text.data() + text.size(),
                                 std::round(a_year / step) * step, std::chars_format::general, 3);
  if (a_year >= 1000) return std::to_string(std::llround(std::min(a_year, 1e12)));
  return {text.data(), end.ptr};
}

bool can_be_had(const Choice& choice) {
  return choice.standing != Standing::too_many && choice.standing != Standing::too_slow;
}

Choice choose(const DetectionWish& wish, const Measure& measure) {
  Choice it;
  it.controller = measure.controller;
  it.wish = wish;
  it.interval = measure.interval;
  it.watched = measure.watched;
  const Span margin = margin_of(measure);
  const Span latest = *wish.tell_within - measure.interval - margin;
  // One lost check-in alone must never tell: at least two are missed.
  const bool too_slow = latest < measure.interval;
  it.on_delay = too_slow ? measure.interval : settled_delay(latest, measure);
  it.min_missed = missed_for(wish, it.on_delay, measure);
  it.told_within = told_within(measure, it.on_delay);
  it.expected = false_alarms(measure, it.on_delay);
  const double wanted = wish.false_alarms_at_most->per_year();
  if (too_slow) {
    it.standing = Standing::too_slow;
  } else if (measure.watched < history_least) {
    it.standing = Standing::unknown;
  } else if (it.expected.a_year > wanted) {
    it.standing = Standing::too_many;
  } else {
    it.standing = *it.expected.at_most <= wanted ? Standing::kept : Standing::likely;
  }
  if (can_be_had(it)) return it;
  it.longest_interval = longest_interval(wish, measure);
  if (const auto delay = delay_for(measure, *wish.false_alarms_at_most)) {
    // In whole minutes, upwards: people write them.
    const std::int64_t minutes =
        (told_within(measure, *delay) + Span::of_min(1)).us / Span::of_min(1).us;
    it.instead_within = Span::of_min(minutes);
  }
  return it;
}

std::vector<Choice> choices(const Settings& settings, const History& history) {
  std::vector<Choice> out;
  for (const SiteSettings& site : settings.sites) {
    const DetectionWish of_site = apply(settings.wish, site.detection);
    for (const TankSettings& tank : site.tanks) {
      const DetectionWish of_tank = apply(of_site, tank.detection);
      for (const ControllerSettings& controller : tank.controllers) {
        const DetectionWish wish = apply(of_tank, controller.detection);
        if (!wish.tell_within || !wish.false_alarms_at_most) continue;
        const auto known = std::find_if(
            history.controllers.begin(), history.controllers.end(),
            [&](const Measure& measure) { return measure.controller == controller.id; });
        const bool measured = known != history.controllers.end() && known->heard > 0;
        out.push_back(
            choose(wish, measured ? *known : nothing_measured(controller.id, controller.interval)));
      }
    }
  }
  return out;
}

bool has_wishes(const Settings& settings) {
  return !choices(settings, {}).empty();
}

Settings with_choices(Settings settings, const std::vector<Choice>& choices) {
  auto next = choices.begin();
  for (SiteSettings& site : settings.sites) {
    for (TankSettings& tank : site.tanks) {
      for (ControllerSettings& controller : tank.controllers) {
        if (next == choices.end() || next->controller != controller.id) continue;
        controller.detection.on_delay = next->on_delay;
        controller.detection.min_missed = next->min_missed;
        ++next;
      }
    }
  }
  return settings;
}

std::string sentence(const Choice& choice) {
  return choice.controller + ": on_delay " + duration_text(choice.on_delay) + ", min_missed " +
         std::to_string(choice.min_missed) + ", told within " + span_text(choice.told_within) +
         "; " + verdict(choice) + ".";
}

}  // namespace ebbwatch::advice
