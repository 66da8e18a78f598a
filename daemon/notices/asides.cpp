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

}  // namespace

std::string how_to_answer(const Story& story, const Telling& telling) {
  const bool open = story.kind == DecisionKind::loss || story.kind == DecisionKind::cause_revised;
  if (!open || (telling.answer_link.empty() && telling.answer_code.empty())) return "";
  std::string lines = "\nTo take it on:\n";
  if (!telling.answer_link.empty()) lines += "  " + telling.answer_link + "\n";
  if (!telling.answer_code.empty()) {
    lines += "  or reply to the text message with: OK " + telling.answer_code + "\n";
  }
  return lines;
}

std::string aside_text(const Story& story, const Telling& telling) {
  const std::string lines = story.topic == Topic::taken_on ? taken_on_text(story, telling)
                                                           : undelivered_text(story, telling);
  return lines + "\n" + closing(story, telling);
}

std::string aside_short_text(const Story& story, const Telling& telling) {
  const std::string since = time_of_day(story.since, telling.now);
  const auto plain = [](const std::string& text) { return to_gsm7(one_line(text)); };
  std::string end = ": no contact since " + since + ". ";
  if (story.topic == Topic::taken_on) {
    end += shorten(plain(story.taken_by), 30, gsm7_septets) +
           " has taken it on. You need not do anything.";
  } else {
    end += "Not reached: " + cut_after_word(plain(story.remark), 60, gsm7_septets);
  }
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
