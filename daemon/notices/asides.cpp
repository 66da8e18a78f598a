#include "notices/asides.h"

#include "notices/lines.h"
#include "notices/phrases.h"
#include "text/gsm7.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

std::string gone_since(const Story& story, const Telling& telling) {
  return "contact with " + who(story) + ", gone since " + time_of_day(story.since, telling.now);
}

std::string taken_on_text(const Story& story, const Telling& telling) {
  std::string then = "You need not do anything.";
  if (story.taken_until) {
    then += " If contact is still gone at " + time_of_day(*story.taken_until, telling.now) +
            " and nobody has taken it on anew by then, the call list begins again.";
  }
  return wrap(story.taken_by + " has taken it on: " + gone_since(story, telling) + ".") + "\n" +
         wrap(then);
}

std::string undelivered_text(const Story& story, const Telling& telling) {
  return wrap("A notice about " + gone_since(story, telling) + ", did not arrive: " + story.remark +
              ".") +
         "\n" +
         wrap("Nobody has taken it on so far. If you count on that person, ring them yourself.");
}

std::string store_failing_text(const Story& story, const Telling& telling) {
  return wrap("The watcher " + story.watcher + " cannot store what it decides since " +
              time_of_day(story.since, telling.now) + ": " + story.remark) +
         "\n" +
         wrap(
             "It goes on watching, and people are told as usual. But if its computer stops before "
             "this is mended, what could not be stored is forgotten: notices may then come twice "
             "or be missing.") +
         "\nCheck first:\n" +
         wrap(
             "Is the disk of the watcher's computer full, read-only or worn out? Do not restart "
             "it before there is room again.",
             "  ", "  ");
}

std::string store_working_text(const Story& story, const Telling& telling) {
  return wrap("The watcher " + story.watcher + " can store what it decides again since " +
              time_of_day(story.since, telling.now) + ". Nothing that it decided was lost.");
}

std::string short_end(const Story& story, const Telling& telling) {
  const auto plain = [](const std::string& text) { return to_gsm7(one_line(text)); };
  const std::string since = time_of_day(story.since, telling.now);
  switch (story.topic) {
    case Topic::store_failing:
      return ": cannot store what it decides since " + since +
             ". It goes on watching and telling. Check its disk; do not restart it.";
    case Topic::store_working:
      return ": can store again since " + since + ". Nothing was lost.";
    case Topic::undelivered:
      return ": no contact since " + since +
             ". Not reached: " + cut_after_word(plain(story.remark), 60, gsm7_septets);
    case Topic::taken_on:
    case Topic::decision:
      break;
  }
  return ": no contact since " + since + ". " + shorten(plain(story.taken_by), 30, gsm7_septets) +
         " has taken it on. You need not do anything.";
}

std::string aside_lines(const Story& story, const Telling& telling) {
  switch (story.topic) {
    case Topic::store_failing:
      return store_failing_text(story, telling);
    case Topic::store_working:
      return store_working_text(story, telling);
    case Topic::undelivered:
      return undelivered_text(story, telling);
    case Topic::taken_on:
    case Topic::decision:
      break;
  }
  return taken_on_text(story, telling);
}

}  // namespace

std::string how_to_answer(const Story& story, const Telling& telling) {
  const bool open = story.kind == DecisionKind::loss || story.kind == DecisionKind::cause_revised;
  if (!open || (telling.answer_link.empty() && telling.answer_code.empty())) return "";
  std::string lines = story.drill ? "\nTo confirm that this reached you:\n" : "\nTo take it on:\n";
  if (!telling.answer_link.empty()) lines += "  " + telling.answer_link + "\n";
  if (!telling.answer_code.empty()) {
    lines += "  or reply to the text message with: OK " + telling.answer_code + "\n";
  }
  return lines;
}

std::string aside_text(const Story& story, const Telling& telling) {
  return aside_lines(story, telling) + "\n" + closing(story, telling);
}

std::string aside_short_text(const Story& story, const Telling& telling) {
  const auto plain = [](const std::string& text) { return to_gsm7(one_line(text)); };
  const std::string end = short_end(story, telling);
  const std::size_t room = segment_septets_max - gsm7_septets(end);
  Story named = story;
  named.name = plain(story.name);
  named.place = plain(story.place);
  named.watcher = plain(story.watcher);
  return heading(named, room, gsm7_septets) + end;
}

std::string closing(const Story& story, const Telling& telling) {
  const std::string which = story.outage.empty() ? "Seen" : "Outage " + story.outage + ", seen";
  return wrap(which + " by the watcher " + story.watcher + " at " +
              time_of_day(story.at, telling.now) +
              ". ebbwatch helps people to notice; it is not a life-safety system.");
}

}  // namespace ebbwatch
