#include "notices/asides.h"

#include "notices/bundle_text.h"
#include "notices/lines.h"
#include "notices/phrases.h"
#include "notices/reading_news.h"
#include "text/gsm7.h"

namespace ebbwatch {
namespace {

std::string taken_on_text(const Speech& say, const Story& story) {
  if (story.reading) {
    return wrap(say(Phrase::taken_on_reading, {{"name", story.taken_by},
                                               {"who", who(say, story)},
                                               {"what", reading_news(say, story)}})) +
           "\n" + wrap(say(Phrase::nothing_to_do));
  }
  const std::string then =
      story.taken_until ? say(Phrase::nothing_to_do_until, {{"at", say.at(*story.taken_until)}})
                        : say(Phrase::nothing_to_do);
  return wrap(say(Phrase::taken_on, {{"name", story.taken_by},
                                     {"who", who(say, story)},
                                     {"since", say.since(story.since)}})) +
         "\n" + wrap(then);
}

// Who was not reached by what, and the answer.
std::string unreached(const Speech& say, const Story& story) {
  if (story.unreached.empty()) return story.remark;
  return say(story.remark.empty() ? Phrase::unreached : Phrase::unreached_answer,
             {{"name", story.unreached}, {"way", story.unreached_by}, {"answer", story.remark}});
}

std::string undelivered_text(const Speech& say, const Story& story) {
  if (story.reading) {
    return wrap(say(Phrase::undelivered_reading, {{"who", who(say, story)},
                                                  {"news", reading_news(say, story)},
                                                  {"what", unreached(say, story)}})) +
           "\n" + wrap(say(Phrase::undelivered_then));
  }
  return wrap(say(Phrase::undelivered, {{"who", who(say, story)},
                                        {"since", say.since(story.since)},
                                        {"what", unreached(say, story)}})) +
         "\n" + wrap(say(Phrase::undelivered_then));
}

std::string store_failing_text(const Speech& say, const Story& story) {
  return wrap(say(Phrase::store_failing, {{"watcher", story.watcher},
                                          {"since", say.since(story.since)},
                                          {"why", story.remark}})) +
         "\n" + wrap(say(Phrase::store_failing_meaning)) + "\n" + say(Phrase::title_check_first) +
         "\n" + wrap(say(Phrase::store_failing_check), "  ", "  ");
}

std::string store_working_text(const Speech& say, const Story& story) {
  return wrap(
      say(Phrase::store_working, {{"watcher", story.watcher}, {"since", say.since(story.since)}}));
}

std::string short_end(const Speech& say, const Story& story) {
  const std::string since = say.since(story.since);
  if (story.reading) {
    const bool taken = story.topic == Topic::taken_on;
    return reading_news(say, story) + ". " +
           say(taken ? Phrase::short_taken_on_reading : Phrase::short_undelivered_reading,
               {{"name",
                 shorten(gsm7_line(taken ? story.taken_by : story.unreached), 30, gsm7_septets)}});
  }
  switch (story.topic) {
    case Topic::store_failing:
      return say(Phrase::short_store_failing, {{"since", since}});
    case Topic::store_working:
      return say(Phrase::short_store_working, {{"since", since}});
    case Topic::undelivered:
      return say(Phrase::short_undelivered,
                 {{"since", since},
                  {"what", cut_after_word(gsm7_line(unreached(say, story)), 60, gsm7_septets)}});
    case Topic::notifier_failing:
    case Topic::notifier_working:
    case Topic::unproven:
    case Topic::taken_on:
    case Topic::decision:
    case Topic::summary:
    case Topic::digest:
      break;
  }
  return say(Phrase::short_taken_on,
             {{"since", since}, {"name", shorten(gsm7_line(story.taken_by), 30, gsm7_septets)}});
}

std::string aside_lines(const Speech& say, const Story& story) {
  switch (story.topic) {
    case Topic::store_failing:
      return store_failing_text(say, story);
    case Topic::store_working:
      return store_working_text(say, story);
    case Topic::undelivered:
      return undelivered_text(say, story);
    case Topic::notifier_failing:
    case Topic::notifier_working:
    case Topic::unproven:
      return wrap(bundle_line(say, story));
    case Topic::summary:
    case Topic::digest:
      return bundle_text(say, story);
    case Topic::taken_on:
    case Topic::decision:
      break;
  }
  return taken_on_text(say, story);
}

}  // namespace

std::string how_to_answer(const Story& story, const Telling& telling) {
  const bool open = story.kind == DecisionKind::loss || story.kind == DecisionKind::cause_revised;
  if (!open || (telling.answer_link.empty() && telling.answer_code.empty())) return "";
  const Speech say(telling.language, telling.now);
  std::string lines = "\n" + say(story.drill ? Phrase::to_confirm : Phrase::to_take_it_on) + "\n";
  if (!telling.answer_link.empty()) lines += "  " + telling.answer_link + "\n";
  if (!telling.answer_code.empty()) {
    lines += "  " + say(Phrase::or_reply, {{"code", telling.answer_code}}) + "\n";
  }
  return lines;
}

std::string aside_text(const Story& story, const Telling& telling) {
  const Speech say(telling.language, telling.now);
  return aside_lines(say, story) + "\n" + closing(story, telling);
}

std::string aside_short_text(const Story& story, const Telling& telling) {
  const Speech say(telling.language, telling.now);
  if (is_bundle(story.topic)) return bundle_short_text(say, story);
  if (priority_of(story) == Priority::low) {
    return cut_after_word(gsm7_line(bundle_line(say, story)), segment_septets_max, gsm7_septets);
  }
  const std::string end = ": " + gsm7_line(short_end(say, story));
  const std::size_t room = segment_septets_max - gsm7_septets(end);
  Story named = story;
  named.name = gsm7_line(story.name);
  named.place = gsm7_line(story.place);
  named.watcher = gsm7_line(story.watcher);
  return gsm7_line(heading(say, named, room, gsm7_septets)) + end;
}

std::string closing(const Story& story, const Telling& telling) {
  const Speech say(telling.language, telling.now);
  return wrap(
      say(story.outage.empty() ? Phrase::closing
          : story.reading      ? Phrase::closing_alarm
                               : Phrase::closing_outage,
          {{"outage", story.outage}, {"watcher", story.watcher}, {"at", say.at(story.at)}}));
}

}  // namespace ebbwatch
