// The catalogue holds together: whole, with the same gaps everywhere, and in each language's
// letters.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>
#include <ctime>

#include "text/gsm7.h"
#include "text/utf8.h"
#include "words/speech.h"

using namespace ebbwatch;

namespace {

/// 2026-02-22T14:00:00Z
constexpr WallTime two_o_clock{1'771'768'800'000'000};

void use_utc() {
  setenv("TZ", "UTC", 1);
  tzset();
}

// Words that a language brings into its own sentences, or not.
bool is_of_a_time(Phrase which) {
  return which <= Phrase::until_dated;
}

std::string without_marks(std::string text) {
  for (char& c : text) {
    if (c == '{' || c == '}') c = ' ';
  }
  return text;
}

}  // namespace

TEST_CASE("catalogue: every language has every phrase, with the gaps that English has") {
  for (std::size_t i = 0; i < phrase_count; ++i) {
    const Phrase which = static_cast<Phrase>(i);
    const std::string_view english = phrase(Language::english, which);
    CAPTURE(english);
    for (const Language language : all_languages) {
      const std::string_view text = phrase(language, which);
      CAPTURE(text);
      CHECK_FALSE(text.empty());
      CHECK(is_utf8(text));
      CHECK(text.find("  ") == std::string_view::npos);
      // Of a time each language takes what it needs: "las {clock}" where others say "{clock}".
      if (!is_of_a_time(which)) CHECK(gaps_of(text) == gaps_of(english));
    }
  }
}

TEST_CASE("catalogue: no phrase was forgotten in translation") {
  std::size_t compared = 0;
  for (std::size_t i = 0; i < phrase_count; ++i) {
    const Phrase which = static_cast<Phrase>(i);
    const std::string_view english = phrase(Language::english, which);
    if (english.size() < 20 || is_of_a_time(which)) continue;
    for (const Language language : {Language::german, Language::spanish}) {
      CAPTURE(english);
      CHECK(phrase(language, which) != english);
      ++compared;
    }
  }
  CHECK(compared > 200);
}

TEST_CASE("catalogue: every letter is in the alphabet of phones or has a near form there") {
  for (const Language language : all_languages) {
    for (std::size_t i = 0; i < phrase_count; ++i) {
      const std::string text = without_marks(std::string(phrase(language, static_cast<Phrase>(i))));
      CAPTURE(text);
      const std::string plain = to_gsm7(text);
      CHECK(is_gsm7(plain));
      const auto marks = [](const std::string& in) {
        return std::count(in.begin(), in.end(), '?');
      };
      CHECK(marks(plain) == marks(text));
      if (language == Language::german && text.find("°") == std::string::npos) {
        CHECK(plain == text);
      }
    }
  }
}

TEST_CASE("fill: gaps take their values, whatever is in them") {
  CHECK(fill("", {}) == "");
  CHECK(fill("no gap", {{"who", "x"}}) == "no gap");
  CHECK(fill("{who} and {who}, {at}.", {{"who", "A"}, {"at", "14:02"}}) == "A and A, 14:02.");
  CHECK(fill("{who} {at}", {{"who", "{at}"}, {"at", "{who}"}}) == "{at} {who}");
  CHECK(fill("{who}{unknown}{", {{"who", ""}}) == "{unknown}{");
  CHECK(fill("a } b {", {}) == "a } b {");
  CHECK(gaps_of("{b} {a} {b} {") == std::vector<std::string>{"a", "b", "b"});
}

TEST_CASE("speech: times of day as each language puts them into a sentence") {
  use_utc();
  const Speech english(Language::english, two_o_clock);
  const Speech german(Language::german, two_o_clock);
  const Speech spanish(Language::spanish, two_o_clock);
  const WallTime later = two_o_clock + Span::of_min(3);
  CHECK(english.at(later) == "at 14:03");
  CHECK(german.at(later) == "um 14:03");
  CHECK(spanish.at(later) == "a las 14:03");
  CHECK(spanish.since(two_o_clock - Span::of_min(12 * 60 + 50)) == "desde la 01:10");
  CHECK(german.from(two_o_clock) + " " + german.to(later) == "von 14:00 bis 14:03");
  CHECK(spanish.from(two_o_clock) + " " + spanish.to(later) == "desde las 14:00 hasta las 14:03");
  const WallTime day_before = two_o_clock - Span::of_min(21 * 60);
  CHECK(english.since(day_before) == "since 21 Feb 17:00");
  CHECK(english.time(two_o_clock + Span::of_days(20)) == "14 Mar 14:00");
  CHECK(german.since(day_before) == "seit 21. Feb., 17:00");
  CHECK(german.at(two_o_clock + Span::of_days(20)) == "am 14. März um 14:00");
  CHECK(spanish.at(day_before) == "el 21 feb a las 17:00");
  CHECK(spanish.until(two_o_clock + Span::of_days(300)) == "hasta el 19 dic a las 14:00");
}

TEST_CASE("speech: every month has a name in every language") {
  use_utc();
  for (const Language language : all_languages) {
    const Speech say(language, two_o_clock);
    std::string last;
    for (int month = 1; month <= 12; ++month) {
      const std::string told = say.time(two_o_clock + Span::of_days(30 * month));
      CHECK(told.find("  ") == std::string::npos);
      CHECK(told != last);
      last = told;
    }
    const std::string_view months = phrase(language, Phrase::months);
    CHECK(std::count(months.begin(), months.end(), ' ') == 11);
  }
}

TEST_CASE("language: a tag is known with or without its region, English stands in") {
  CHECK(known_language("de") == Language::german);
  CHECK(known_language("de-AT") == Language::german);
  CHECK(known_language("es-419") == Language::spanish);
  CHECK_FALSE(known_language("pt-BR"));
  CHECK_FALSE(known_language("des"));
  CHECK(first_known_language({"fr", "de", "es"}) == Language::german);
  CHECK(first_known_language({}) == Language::english);
  CHECK(language_codes() == "en, de, es");
  CHECK(number_in(Language::german, "25.4") == "25,4");
  CHECK(number_in(Language::english, "25.4") == "25.4");
}
