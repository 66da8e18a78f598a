#include "advice/forecast.h"

#include <algorithm>
#include <cmath>

#include "core/qos.h"

namespace ebbwatch::advice {
namespace {

constexpr double year_s = 365.0 * 86'400;
constexpr double day_s = 86'400;
constexpr double start_silences_a_day = 0.5;
constexpr double start_silence_s = 300;
constexpr double start_days = 2;
constexpr double start_sent = 100;
constexpr double start_loss = 0.03;
constexpr double confidence_left = 0.05;

/// P(X <= count) for a Poisson law.
double poisson_up_to(std::uint64_t count, double mean) {
  double term = std::exp(-mean);
  double sum = term;
  for (std::uint64_t i = 1; i <= count; ++i) {
    term *= mean / static_cast<double>(i);
    sum += term;
  }
  return sum;
}

/// The mean at which f falls to `wanted`. @pre f falls.
template <class F>
double mean_where(const F& f, double wanted, double high) {
  double low = 0;
  for (int i = 0; i < 100; ++i) {
    const double middle = (low + high) / 2;
    (f(middle) > wanted ? low : high) = middle;
  }
  return low;
}

/// Beyond this the normal law serves, and exp() would come to nothing.
constexpr std::uint64_t normal_from = 300;

double by_chance(const Measure& measure, Span delay) {
  const double interval_s = measure.interval.seconds();
  const int missed = 1 + static_cast<int>(std::min(delay.seconds() / interval_s, 1000.0));
  return year_s / qos::between_mistakes_s(interval_s, loss_of(measure), missed);
}

}  // namespace

double poisson_at_most(std::uint64_t seen) {
  const auto count = static_cast<double>(seen);
  if (seen >= normal_from) return count + 1 + 1.645 * std::sqrt(count + 1);
  return mean_where([&](double mean) { return poisson_up_to(seen, mean); }, confidence_left,
                    count + 10 + 5 * std::sqrt(count));
}

double poisson_at_least(std::uint64_t seen) {
  const auto count = static_cast<double>(seen);
  if (seen == 0) return 0;
  if (seen >= normal_from) return count - 1.645 * std::sqrt(count);
  return mean_where([&](double mean) { return poisson_up_to(seen - 1, mean); }, 1 - confidence_left,
                    count);
}

double loss_of(const Measure& measure) {
  return (static_cast<double>(measure.lost) + start_loss * start_sent) /
         (static_cast<double>(measure.expected) + start_sent);
}

Span margin_of(const Measure& measure) {
  const Span wanted =
      std::max({Span::of_ms(500), measure.interval / 50, Span::of_seconds(3 * measure.jitter_s)});
  return std::min(wanted, std::max(measure.interval / 2, Span::of_ms(500)));
}

Span told_within(const Measure& measure, Span delay) {
  return measure.interval + delay + margin_of(measure);
}

FalseAlarms false_alarms(const Measure& measure, Span delay) {
  FalseAlarms out;
  out.seen = measure.silences.longer_than(delay);
  const double years = measure.watched.seconds() / year_s;
  const double chance = by_chance(measure, delay);
  if (measure.watched < history_least) {
    const double start =
        start_days * start_silences_a_day * std::exp(-delay.seconds() / start_silence_s);
    const double start_years = start_days * day_s / year_s;
    out.a_year = std::max((static_cast<double>(out.seen) + start) / (years + start_years), chance);
    return out;
  }
  out.a_year = std::max(static_cast<double>(out.seen) / years, chance);
  out.at_most = std::max(poisson_at_most(out.seen) / years, chance);
  return out;
}

Measure nothing_measured(const std::string& controller, Span interval) {
  Measure measure;
  measure.controller = controller;
  measure.interval = interval;
  return measure;
}

std::optional<Span> delay_for(const Measure& measure, const Rate& rate) {
  const double wanted = rate.per_year();
  // Steps as fine as those in which silences are kept, at least an interval.
  for (Span delay = measure.interval; delay <= outage_from;
       delay = delay + std::max(delay / 24, Span::of_s(1))) {
    if (false_alarms(measure, delay).a_year <= wanted) return delay;
  }
  return std::nullopt;
}

}  // namespace ebbwatch::advice
