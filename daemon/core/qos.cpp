#include "core/qos.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace ebbwatch::qos {
namespace {

constexpr double rounding = 1e-12;

double simpson(double a, double b, double fa, double fm, double fb) {
  return (b - a) / 6 * (fa + 4 * fm + fb);
}

template <class F>
double refine(const F& f, double a, double b, double fa, double fm, double fb, double tolerance,
              int depth) {
  const double m = (a + b) / 2;
  const double fl = f((a + m) / 2);
  const double fr = f((m + b) / 2);
  const double whole = simpson(a, b, fa, fm, fb);
  const double halves = simpson(a, m, fa, fl, fm) + simpson(m, b, fm, fr, fb);
  if (depth <= 0 || std::fabs(halves - whole) <= 15 * tolerance) {
    return halves + (halves - whole) / 15;
  }
  return refine(f, a, m, fa, fl, fm, tolerance / 2, depth - 1) +
         refine(f, m, b, fm, fr, fb, tolerance / 2, depth - 1);
}

template <class F>
double integral(const F& f, double a, double b) {
  if (b <= a) return 0;
  const double fa = f(a);
  const double fm = f((a + b) / 2);
  const double fb = f(b);
  const double rough = (b - a) * std::max({fa, fm, fb});
  return refine(f, a, b, fa, fm, fb, std::max(rough, 1e-300) * 1e-11, 40);
}

/// Largest interval up to `interval_max` that f lets have. f is saw-toothed, so a bisection over
/// all of it can end on a smaller crossing: walk down from the top, then bisect the last step.
template <class F>
std::optional<double> largest(const F& f, double interval_max, double target) {
  constexpr int steps = 200'000;
  if (f(interval_max) >= target) return interval_max;
  double high = interval_max;
  for (int i = 1; i < steps; ++i) {
    double low = interval_max * (1 - static_cast<double>(i) / steps);
    if (f(low) < target) {
      high = low;
      continue;
    }
    for (int bisection = 0; bisection < 100; ++bisection) {
      const double middle = (low + high) / 2;
      (f(middle) >= target ? low : high) = middle;
    }
    return low;
  }
  return std::nullopt;
}

int slots_before(double span, double interval) {
  return static_cast<int>(std::ceil(span / interval - rounding));
}

}  // namespace

DelayTail exponential(double mean_s) {
  return [mean_s](double seconds) { return seconds <= 0 ? 1.0 : std::exp(-seconds / mean_s); };
}

Quality quality(Detector detector, const Channel& channel) {
  const double eta = detector.interval_s;
  const double delta = detector.shift_s;
  Quality out;
  out.slots = slots_before(delta, eta);
  const auto suspects = [&](double x) {
    double product = 1;
    for (int j = 0; j <= out.slots; ++j) {
      product *= channel.loss + (1 - channel.loss) * channel.tail(delta + x - j * eta);
    }
    return product;
  };
  out.suspect_at_start = suspects(0);
  out.in_time = (1 - channel.loss) * (1 - channel.tail(delta + eta));
  out.detection_s = delta + eta;
  const double mistake = out.in_time * out.suspect_at_start;
  // The next message leaves at `kink`: there and just after it the curve bends.
  const double kink = std::clamp(out.slots * eta - delta, 0.0, eta);
  double sum = 0;
  double from = 0;
  for (const double cut : {1.0, 4.0, 12.0, 40.0}) {
    const double to = std::clamp(cut * channel.delay_scale_s, from, kink);
    sum += integral(suspects, from, to);
    from = to;
  }
  sum += integral(suspects, from, kink);
  from = kink;
  for (const double cut : {1.0, 4.0, 12.0, 40.0}) {
    const double to = std::clamp(kink + cut * channel.delay_scale_s, from, eta);
    sum += integral(suspects, from, to);
    from = to;
  }
  sum += integral(suspects, from, eta);
  out.between_mistakes_s = mistake > 0 ? eta / mistake : std::numeric_limits<double>::infinity();
  out.mistake_s = mistake > 0 ? sum / mistake : 0;
  out.accuracy = 1 - sum / eta;
  return out;
}

std::optional<Configured> configure(const Wish& wish, const Channel& channel) {
  const double in_time = (1 - channel.loss) * (1 - channel.tail(wish.detection_s));
  if (in_time <= 0) return std::nullopt;
  Configured out;
  out.interval_max_s = std::min(in_time * wish.mistake_s, wish.detection_s);
  if (out.interval_max_s <= 0) return std::nullopt;
  const auto between = [&](double eta) {
    double product = in_time;
    for (int j = 1; j < slots_before(wish.detection_s, eta); ++j) {
      product *= channel.loss + (1 - channel.loss) * channel.tail(wish.detection_s - j * eta);
    }
    return product > 0 ? eta / product : std::numeric_limits<double>::infinity();
  };
  const auto eta = largest(between, out.interval_max_s, wish.between_mistakes_s);
  if (!eta) return std::nullopt;
  out.detector = {*eta, wish.detection_s - *eta};
  return out;
}

std::optional<Configured> configure(const Wish& wish, double loss, double mean_s,
                                    double variance_s2) {
  const double a = wish.detection_s - mean_s;
  if (a <= 0) return std::nullopt;
  const double gamma = (1 - loss) * a * a / (variance_s2 + a * a);
  Configured out;
  out.interval_max_s = std::min(gamma * wish.mistake_s, a);
  if (out.interval_max_s <= 0) return std::nullopt;
  const auto between = [&](double eta) {
    double product = eta;
    for (int j = 1; j < slots_before(a, eta); ++j) {
      const double square = (a - j * eta) * (a - j * eta);
      product *= (variance_s2 + square) / (variance_s2 + loss * square);
    }
    return product;
  };
  const auto eta = largest(between, out.interval_max_s, wish.between_mistakes_s);
  if (!eta) return std::nullopt;
  out.detector = {*eta, wish.detection_s - *eta};
  return out;
}

double between_mistakes_s(double interval_s, double loss, int missed) {
  return interval_s / ((1 - loss) * std::pow(loss, missed));
}

Bounds bounds(Detector detector, double loss, double mean_s, double variance_s2) {
  const double eta = detector.interval_s;
  const double a = detector.shift_s - mean_s;
  Bounds out;
  out.beta = 1;
  for (int j = 0; j <= slots_before(a, eta) - 1; ++j) {
    const double square = (a - j * eta) * (a - j * eta);
    out.beta *= (variance_s2 + loss * square) / (variance_s2 + square);
  }
  const double reach = (a + eta) * (a + eta);
  out.gamma = (1 - loss) * reach / (variance_s2 + reach);
  out.between_mistakes_s = eta / out.beta;
  out.mistake_s = eta / out.gamma;
  return out;
}

double chance_of_at_least(int count, double expected) {
  // Summed from the small end: 1 - (the rest) would lose all digits for rare events.
  double term = std::exp(-expected);
  for (int i = 1; i <= count; ++i) term *= expected / i;
  double sum = 0;
  for (int i = count; i < count + 200; ++i) {
    sum += term;
    term *= expected / (i + 1);
  }
  return sum;
}

}  // namespace ebbwatch::qos
