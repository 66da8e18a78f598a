#include "notices/reading_news.h"

#include "notices/lines.h"
#include "notices/phrases.h"

namespace ebbwatch {
namespace {

constexpr std::size_t told_name_columns_max = 30;

Phrase phrase_of(ReadingState state) {
  switch (state) {
    case ReadingState::low:
      return Phrase::reading_low;
    case ReadingState::below_usual:
    case ReadingState::above_usual:
      return Phrase::reading_unusual;
    case ReadingState::unchanged:
      return Phrase::reading_unchanged;
    case ReadingState::missing:
      return Phrase::reading_missing;
    case ReadingState::high:
    case ReadingState::normal:
      break;
  }
  return Phrase::reading_high;
}

std::string name_of(const ReadingNews& it) {
  return shorten(one_line(it.name), told_name_columns_max, columns);
}

std::string value_of(const Speech& say, const ReadingNews& it) {
  return it.value ? reading_text(it.name, *it.value, say.language()) : name_of(it);
}

Phrase brief_phrase_of(ReadingState state) {
  switch (state) {
    case ReadingState::low:
    case ReadingState::high:
      return Phrase::reading_limit_brief;
    case ReadingState::below_usual:
    case ReadingState::above_usual:
      return Phrase::reading_usual_brief;
    case ReadingState::unchanged:
    case ReadingState::missing:
    case ReadingState::normal:
      break;
  }
  return phrase_of(state);
}

std::string wrong(const Speech& say, const ReadingNews& it, Phrase which) {
  return say(which, {{"reading", value_of(say, it)},
                     {"bound", reading_value(it.name, it.bound, say.language())},
                     {"name", name_of(it)}});
}

}  // namespace

std::string reading_news(const Speech& say, const Story& story) {
  const ReadingNews& it = *story.reading;
  if (story.kind != DecisionKind::recovery) {
    return say(Phrase::reading_news,
               {{"what", wrong(say, it, phrase_of(it.state))}, {"since", say.since(story.since)}});
  }
  const std::string when = story.gone_for
                               ? say(Phrase::after_span, {{"span", span_text(*story.gone_for)}})
                               : say.since(story.since);
  return say(Phrase::reading_normal_again, {{"reading", value_of(say, it)}, {"when", when}});
}

std::string reading_headline(const Speech& say, const Story& story) {
  if (story.kind == DecisionKind::recovery) return reading_news(say, story);
  return wrong(say, *story.reading, brief_phrase_of(story.reading->state));
}

std::string opening_of_reading(const Speech& say, const Story& story) {
  return capital(
      say(Phrase::opening_reading, {{"who", who(say, story)}, {"what", reading_news(say, story)}}));
}

std::string check_of_reading(const Speech& say, const Story& story) {
  const bool device = story.reading->name.starts_with("watts.");
  return say(device ? Phrase::reading_check_device : Phrase::reading_check);
}

}  // namespace ebbwatch
