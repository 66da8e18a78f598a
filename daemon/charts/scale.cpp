#include "charts/scale.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

namespace ebbwatch::charts {
namespace {

// What lies beyond is drawn at the end: differences and powers stay finite.
constexpr double value_max = 1e15;
constexpr double power_least = -12, power_most = 15;
constexpr double foot_share = 0.08;

constexpr std::array seconds_steps{
    1.0,   2.0,   5.0,   10.0,   15.0,   30.0,   60.0,   120.0,   300.0,   600.0,    900.0,
    1800., 3600., 7200., 10800., 21600., 43200., 86400., 172800., 604800., 1209600., 2592000.};
// Few enough that no two of them look alike on a logarithmic axis.
constexpr std::array seconds_powers{
    0.001, 0.01,  0.1,    1.0,    3.0,    10.0,    30.0,    60.0,     120.0,     300.0,     600.0,
    1800., 3600., 10800., 43200., 86400., 259200., 864000., 2592000., 31536000., 315360000.};

std::string digits_of(double value) {
  std::array<char, 32> text{};
  const auto end =
      std::to_chars(text.data(), text.data() + text.size(), value, std::chars_format::general, 6);
  return {text.data(), end.ptr};
}

/// 1, 2 and 5 times powers of ten: the smallest of them that is not below `least`.
double round_step(double least) {
  const double power = std::pow(10.0, std::floor(std::log10(least)));
  for (const double factor : {1.0, 2.0, 5.0}) {
    if (factor * power >= least * (1 - 1e-9)) return factor * power;
  }
  return 10 * power;
}

double step_of(Measure measure, double least) {
  if (measure == Measure::number || least < seconds_steps.front()) return round_step(least);
  const auto step = std::lower_bound(seconds_steps.begin(), seconds_steps.end(), least);
  return step != seconds_steps.end() ? *step : 86400 * round_step(least / 86400);
}

std::string label_of(Measure measure, double value) {
  return measure == Measure::seconds ? seconds_label(value) : number_label(value);
}

/// Candidates for marks from the last one at or below `least` to the first at or above `most`.
std::vector<double> powers_between(Measure measure, double least, double most) {
  std::vector<double> all;
  if (measure == Measure::seconds) {
    all.assign(seconds_powers.begin(), seconds_powers.end());
  } else {
    const bool is_narrow = std::log10(most) - std::log10(least) < 2;
    const int first = static_cast<int>(std::floor(std::log10(least)));
    const int last = static_cast<int>(std::ceil(std::log10(most)));
    for (int power = first; power <= last; ++power) {
      all.push_back(std::pow(10.0, power));
      if (is_narrow) all.insert(all.end(), {2 * std::pow(10.0, power), 5 * std::pow(10.0, power)});
    }
  }
  constexpr double slack = 1e-9;
  auto first = std::upper_bound(all.begin(), all.end(), least * (1 + slack));
  if (first != all.begin()) --first;
  auto last = std::lower_bound(first, all.end(), most * (1 - slack));
  if (last != all.end()) ++last;
  std::vector<double> chosen(first, last);
  if (chosen.size() < 2 && first != all.begin()) chosen.insert(chosen.begin(), *(first - 1));
  return chosen;
}

}  // namespace

std::string number_label(double value) {
  return digits_of(value == 0 ? 0 : value);  // No "-0".
}

std::string seconds_label(double seconds) {
  const double size = std::fabs(seconds);
  if (size == 0) return "0";
  if (size < 60) return digits_of(seconds) + " s";
  if (size < 3600) return digits_of(seconds / 60) + " min";
  if (size < 86400) return digits_of(seconds / 3600) + " h";
  return digits_of(seconds / 86400) + " d";
}

void Extent::add(double value) {
  if (!std::isfinite(value)) return;
  least = any ? std::min(least, value) : value;
  most = any ? std::max(most, value) : value;
  any = true;
  if (value <= 0) {
    any_not_above = true;
  } else {
    least_above_nought = least_above_nought > 0 ? std::min(least_above_nought, value) : value;
  }
}

Scale::Scale(const Axis& axis, Extent extent, int ticks_max) : spacing_(axis.spacing) {
  for (const auto& end : {axis.from, axis.to}) {
    if (end) extent.add(*end);
  }
  if (spacing_ == Spacing::linear) {
    make_linear(axis, extent, ticks_max);
  } else {
    make_logarithmic(axis, extent, ticks_max);
  }
}

void Scale::make_linear(const Axis& axis, const Extent& extent, int ticks_max) {
  double least =
      std::clamp(axis.from.value_or(extent.any ? extent.least : 0), -value_max, value_max);
  double most = std::clamp(axis.to.value_or(extent.any ? extent.most : 1), -value_max, value_max);
  // Most quantities begin at nought; an axis that leaves out little should show it.
  if (!axis.from && least > 0 && least < most / 2) least = 0;
  if (!(most > least)) {
    const double around = std::max(std::fabs(least) / 2, 0.5);
    least = least >= 0 ? std::max(least - around, 0.0) : least - around;
    most = least + 2 * around;
  }
  double step = step_of(axis.measure, (most - least) / (ticks_max - 1));
  // Rounding outwards may need one mark more than there is room for.
  while (std::ceil(most / step - 1e-9) - std::floor(least / step + 1e-9) > ticks_max) {
    step = step_of(axis.measure, step * 1.5);
  }
  const double first = std::floor(least / step + 1e-9);
  const double last = std::max(std::ceil(most / step - 1e-9), first + 1);
  from_ = first * step;
  to_ = last * step;
  for (double i = first; i <= last; ++i) {
    ticks_.push_back({place(i * step), label_of(axis.measure, i * step)});
  }
}

void Scale::make_logarithmic(const Axis& axis, const Extent& extent, int ticks_max) {
  const auto usable = [](double value) {
    return std::clamp(value, std::pow(10.0, power_least), std::pow(10.0, power_most));
  };
  const bool has_data = extent.least_above_nought > 0;
  const double least = usable(axis.from && *axis.from > 0 ? *axis.from
                              : has_data                  ? extent.least_above_nought
                                                          : 0.1);
  const double most = std::max(usable(axis.to && *axis.to > 0 ? *axis.to
                                      : has_data              ? extent.most
                                                              : 10),
                               least);
  std::vector<double> marks = powers_between(axis.measure, least, std::max(most, least * 1.01));
  if (marks.size() < 2) marks = {least / 10, least * 10};
  from_ = std::log10(marks.front());
  to_ = std::log10(marks.back());
  if (extent.any_not_above) {
    foot_ = foot_share;
    ticks_.push_back({0, "0"});
  }
  const std::size_t room = static_cast<std::size_t>(ticks_max);
  const std::size_t every = (marks.size() + room - 1) / room;
  for (std::size_t i = 0; i < marks.size(); i += every) {
    ticks_.push_back({place(marks[i]), label_of(axis.measure, marks[i])});
  }
}

double Scale::place(double value) const {
  if (spacing_ == Spacing::linear) {
    return std::clamp((std::clamp(value, -value_max, value_max) - from_) / (to_ - from_), 0.0, 1.0);
  }
  if (value <= 0) return 0;
  const double power = std::clamp(std::log10(value), power_least, power_most);
  return foot_ + (1 - foot_) * std::clamp((power - from_) / (to_ - from_), 0.0, 1.0);
}

}  // namespace ebbwatch::charts
