#include "timeleft/hours.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "words/speech.h"

namespace ebbwatch {
namespace {

constexpr double half_hours_below = 6, hours_up_to = 24;
// 2 hours that arithmetic made 1.9999999 are 2 hours.
constexpr double arithmetic_slack_h = 1e-9;

/// The number alone where the text is a number of hours, else empty.
std::string number_of_hours(double hours, Language language) {
  hours += arithmetic_slack_h;
  if (!(hours >= 1) || hours > hours_up_to + 2 * arithmetic_slack_h) return "";
  const double step = hours < half_hours_below ? 0.5 : 1;
  char text[16];
  std::snprintf(text, sizeof text, "%g", std::floor(hours / step) * step);
  return number_in(language, text);
}

}  // namespace

std::string hours_text(double hours, Language language) {
  const auto say = [language](Phrase which) { return std::string(phrase(language, which)); };
  const std::string number = number_of_hours(hours, language);
  if (number == "1") return say(Phrase::one_hour);
  if (!number.empty()) return fill(say(Phrase::many_hours), {{"number", number}});
  if (hours < 1) return say(Phrase::under_an_hour);
  return say(std::isinf(hours) ? Phrase::hours_never : Phrase::over_a_day);
}

std::string range_text(const HoursRange& range, Language language) {
  const std::string low = hours_text(range.low_h, language);
  const std::string high = hours_text(range.high_h, language);
  if (low == high) return low;
  const std::string low_number = number_of_hours(range.low_h, language);
  const bool shared_unit = !low_number.empty() && !number_of_hours(range.high_h, language).empty();
  return fill(phrase(language, Phrase::hours_from_to),
              {{"low", shared_unit ? low_number : low}, {"high", high}});
}

HoursRange later_by(const HoursRange& range, double hours) {
  const auto rest = [hours](double h) { return std::max(0.0, h - hours); };
  return {rest(range.low_h), rest(range.middle_h), rest(range.high_h)};
}

}  // namespace ebbwatch
