// The headline of a notice, and the lines that are made of little else: subject and event type.
#include <string>

#include "notices/bundle_text.h"
#include "notices/compose.h"
#include "notices/lines.h"
#include "notices/phrases.h"
#include "notices/reading_news.h"

namespace ebbwatch {
namespace {

constexpr std::size_t news_columns = 60;

std::string recovery_news(const Speech& say, const Story& story, bool combined, bool brief) {
  const Phrase which = combined
                           ? (brief ? Phrase::was_lost_is_back_brief : Phrase::was_lost_is_back)
                           : (brief ? Phrase::contact_is_back_brief : Phrase::contact_is_back);
  const std::string when = story.gone_for
                               ? say(Phrase::after_span, {{"span", span_text(*story.gone_for)}})
                               : say.since(story.since);
  return say(which, {{"when", when}});
}

std::string decision_news(const Speech& say, const Story& story, const Telling& telling,
                          bool brief) {
  if (story.reading) return reading_headline(say, story);
  const std::string since = say.since(story.since);
  const auto tell = [&](Phrase which) { return say(which, {{"since", since}}); };
  switch (story.kind) {
    case DecisionKind::loss:
    case DecisionKind::cause_revised:
      return tell(told_again(telling.occasion) ? Phrase::still_no_contact : Phrase::no_contact);
    case DecisionKind::recovery:
      return recovery_news(say, story, telling.occasion == Occasion::combined, brief);
    case DecisionKind::watch_gap:
      if (!story.gone_for) return tell(Phrase::was_not_watching);
      return say(Phrase::was_not_watching_for, {{"span", span_text(*story.gone_for)}});
    case DecisionKind::unsteady:
      return tell(Phrase::comes_and_goes);
    case DecisionKind::steady:
      return tell(Phrase::steady_again);
  }
  return "";
}

}  // namespace

const char* word(Occasion occasion) {
  switch (occasion) {
    case Occasion::first:
      return "first";
    case Occasion::later_step:
      return "later_step";
    case Occasion::reminder:
      return "reminder";
    case Occasion::combined:
      return "combined";
    case Occasion::resumed:
      return "resumed";
  }
  return "first";
}

std::string news(const Story& story, const Telling& telling, bool brief) {
  const Speech say(telling.language, telling.now);
  switch (story.topic) {
    case Topic::taken_on:
      return say(Phrase::has_taken_it_on, {{"name", one_line(story.taken_by)}});
    case Topic::undelivered:
      return say(Phrase::notice_did_not_arrive);
    case Topic::store_failing:
      return say(Phrase::cannot_store, {{"since", say.since(story.since)}});
    case Topic::store_working:
      return say(Phrase::can_store_again);
    case Topic::notifier_failing:
      return say(Phrase::does_not_deliver, {{"since", say.since(story.since)}});
    case Topic::notifier_working:
      return say(Phrase::delivers_again, {{"since", say.since(story.since)}});
    case Topic::unproven:
      return unproven_news(say, story);
    case Topic::summary:
    case Topic::digest:
      return bundle_news(say, story);
    case Topic::decision:
      break;
  }
  return decision_news(say, story, telling, brief);
}

std::string event_type(const Story& story) {
  if (story.topic != Topic::decision && !story.drill) {
    return std::string("ebbwatch.") + word(story.topic);
  }
  if (story.reading) return std::string("ebbwatch.") + reading_word(story.kind);
  return std::string("ebbwatch.") + (story.drill ? "drill" : word(story.kind));
}

std::string subject_line(const Story& story, const Telling& telling) {
  const Speech say(telling.language, telling.now);
  const std::string prefix = story.drill ? say(Phrase::drill_before) : "";
  const std::string headline = ": " + news(story, telling, false);
  const std::size_t used = columns(prefix) + columns(headline);
  const std::size_t room = used < news_columns ? news_columns - used : 0;
  std::string line = prefix + heading(say, story, room, columns) + headline;
  const std::string cause = short_cause(say, story);
  const bool tells_cause =
      story.topic == Topic::decision &&
      (story.kind == DecisionKind::loss || story.kind == DecisionKind::cause_revised);
  if (tells_cause && !cause.empty()) {
    const bool revised = story.kind == DecisionKind::cause_revised;
    const std::string addition =
        ", " + (revised ? say(Phrase::now_cause, {{"cause", cause}}) : cause);
    if (columns(line) + columns(addition) <= notice_columns_max) line += addition;
  }
  return line;
}

}  // namespace ebbwatch
