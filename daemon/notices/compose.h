// From a story to what a person reads: the whole notice, its subject line, a short text for phones,
// and the same as data for programs. Pure; times of day are in the machine's time zone.
#pragma once

#include <cstdint>
#include <string>

#include "core/time.h"
#include "notices/story.h"
#include "words/language.h"

namespace ebbwatch {

/// Why this person is told now.
enum class Occasion : std::uint8_t {
  first,       ///< The news itself.
  later_step,  ///< Nobody has acknowledged, so it comes to the next person of the call list.
  reminder,    ///< Told before; still nobody has acknowledged.
  combined,    ///< A recovery to a person whom the loss had not reached: both in one.
  resumed,     ///< Somebody had it, but the acknowledgement ran out while the loss lasts.
};
const char* word(Occasion occasion);
/// Whether the person may have been told of the same loss before.
constexpr bool told_again(Occasion occasion) {
  return occasion == Occasion::reminder || occasion == Occasion::resumed;
}

struct Telling {
  Occasion occasion = Occasion::first;
  WallTime now;  ///< When it is sent; a notice that waited for 10 min or longer says so.
  std::string answer_code{}, answer_link{};  ///< As in Message.
  Language language = Language::english;
};

struct Texts {
  std::string subject;     ///< One line, at most 78 columns; the first 60 carry the news.
  std::string text;        ///< UTF-8, LF, lines of at most 78 columns.
  std::string short_text;  ///< At most 160 septets of the GSM 7-bit alphabet, as UTF-8.
  /// The decision (FORMATS section 5 with `at`; its evidence in English) plus `name` and `text`.
  std::string data_json;
};

Texts compose(const Story& story, const Telling& telling);

/// "ebbwatch.loss" and so on; "ebbwatch.drill" for an exercise.
std::string event_type(const Story& story);

/// The subject line alone: name first, so that a recovery sorts and threads with its loss.
std::string subject_line(const Story& story, const Telling& telling);
/// The whole notice alone.
std::string whole_text(const Story& story, const Telling& telling);
/// The short text alone. The news comes first and is never cut; what follows is left out or
/// shortened as room goes; the name is shortened last.
std::string short_text(const Story& story, const Telling& telling);

/// "no contact since 14:02", "contact is back after 22 min", …: the news without the name.
/// @param brief the shortest form, for short texts.
std::string news(const Story& story, const Telling& telling, bool brief);

}  // namespace ebbwatch
