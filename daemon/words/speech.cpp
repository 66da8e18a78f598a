#include "words/speech.h"

#include <algorithm>

#include "text/calendar.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

// "2026-02-22 14:02"
constexpr std::size_t month_at = 5, day_at = 8, clock_at = 11;

std::size_t number_of(std::string_view two_digits) {
  return static_cast<std::size_t>(two_digits[0] - '0') * 10 +
         static_cast<std::size_t>(two_digits[1] - '0');
}

/// The word number `index`, from 0, of words with blanks between them.
std::string_view word_of(std::string_view words, std::size_t index) {
  for (; index > 0 && !words.empty(); --index) {
    words.remove_prefix(std::min(words.find(' '), words.size() - 1) + 1);
  }
  return words.substr(0, words.find(' '));
}

}  // namespace

std::string Speech::operator()(Phrase which, std::initializer_list<Gap> gaps) const {
  return fill(phrase(language_, which), gaps);
}

std::string Speech::told(Phrase today, Phrase dated, WallTime at) const {
  const std::string minute = local_minute(at);
  if (minute.size() <= clock_at) return to_rfc3339(at);
  const std::string_view text = minute;
  const std::string_view clock = text.substr(clock_at);
  const bool of_one = clock.starts_with("01");
  const Phrase hour_phrase = of_one ? Phrase::hour_minute_of_one : Phrase::hour_minute;
  const std::string hour = (*this)(hour_phrase, {{"clock", clock}});
  const Span apart = at < now_ ? now_ - at : at - now_;
  if (apart <= told_without_date) return (*this)(today, {{"clock", clock}, {"hour", hour}});
  const std::string day = std::to_string(number_of(text.substr(day_at, 2)));
  const std::size_t month = number_of(text.substr(month_at, 2));
  return (*this)(dated, {{"clock", clock},
                         {"hour", hour},
                         {"day", day},
                         {"month", word_of(phrase(language_, Phrase::months), month - 1)}});
}

std::string Speech::time(WallTime at) const {
  return told(Phrase::time_today, Phrase::time_dated, at);
}
std::string Speech::at(WallTime at) const {
  return told(Phrase::at_today, Phrase::at_dated, at);
}
std::string Speech::since(WallTime at) const {
  return told(Phrase::since_today, Phrase::since_dated, at);
}
std::string Speech::from(WallTime at) const {
  return told(Phrase::from_today, Phrase::from_dated, at);
}
std::string Speech::to(WallTime at) const {
  return told(Phrase::to_today, Phrase::to_dated, at);
}
std::string Speech::until(WallTime at) const {
  return told(Phrase::until_today, Phrase::until_dated, at);
}

std::string number_in(Language language, std::string number) {
  const std::string_view point = phrase(language, Phrase::decimal_point);
  if (const std::size_t at = number.find('.'); at != std::string::npos) {
    number.replace(at, 1, point);
  }
  return number;
}

std::string capital(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') {
    text[0] = static_cast<char>(text[0] - 'a' + 'A');
  }
  return text;
}

}  // namespace ebbwatch
