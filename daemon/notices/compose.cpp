#include "notices/compose.h"

#include <boost/json/serialize.hpp>
#include <boost/json/string.hpp>
#include <vector>

#include "core/invariant.h"
#include "notices/asides.h"
#include "notices/lines.h"
#include "notices/phrases.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

// A notice that waited this long is told as old news.
constexpr Span late_after = Span::of_min(10);

std::string heading_and(const std::string& title, const std::string& lines) {
  return lines.empty() ? "" : title + "\n" + lines + "\n";
}

std::string lost_between(const Story& story, const Telling& telling) {
  if (!story.lost_at) return "";
  return ", from " + time_of_day(*story.lost_at, telling.now) + " to " +
         time_of_day(story.since, telling.now);
}

std::string opening(const Story& story, const Telling& telling) {
  const std::string since = time_of_day(story.since, telling.now);
  const std::string gone = story.gone_for ? span_text(*story.gone_for) : "";
  switch (story.kind) {
    case DecisionKind::loss:
    case DecisionKind::cause_revised:
      return (told_again(telling.occasion) ? "Still no contact with " : "No contact with ") +
             who(story) + " since " + since + ", " + span_text(telling.now - story.since) + " now.";
    case DecisionKind::recovery:
      return "Contact with " + who(story) + " is back since " + since + "." +
             (gone.empty() ? "" : " It was gone for " + gone + lost_between(story, telling) + ".");
    case DecisionKind::watch_gap:
      return "The watcher " + story.watcher + " was not watching from " + since + " to " +
             time_of_day(story.at, telling.now) + (gone.empty() ? "" : ", " + gone) + ".";
    case DecisionKind::unsteady:
      return "Contact with " + who(story) + " comes and goes since " + since +
             ". Further short losses are counted, but not told one by one; a long one is.";
    case DecisionKind::steady:
      return "Contact with " + who(story) + " is steady again since " + since + ".";
  }
  return "";
}

std::string why_now(const Story& story, const Telling& telling) {
  std::string text;
  if (telling.occasion == Occasion::later_step) {
    text = "Nobody has acknowledged it so far, so it comes to you now.";
  } else if (telling.occasion == Occasion::resumed) {
    text =
        story.taken_by.empty()
            ? "It had been put away; that has ended, and contact is still gone."
            : one_line(story.taken_by) + " had taken it on" +
                  (story.taken_at ? " at " + time_of_day(*story.taken_at, telling.now)
                                  : std::string()) +
                  ", but that has run out and contact is still gone. The call list begins again.";
  } else if (telling.occasion == Occasion::reminder) {
    text = "Nobody has acknowledged it yet. You were told before and are told again.";
  } else if (telling.occasion == Occasion::combined) {
    text =
        "The notice of the loss " +
        (story.lost_at ? "at " + time_of_day(*story.lost_at, telling.now) + " " : std::string()) +
        "may not have reached you in time; this one stands for both.";
  } else if (story.kind == DecisionKind::cause_revised) {
    text = "This is news of an outage that you were told of before, not a new one.";
  } else if (telling.now - story.at >= late_after) {
    text = "This was noticed at " + time_of_day(story.at, telling.now) +
           "; it could be sent only now, at " + time_of_day(telling.now, telling.now) + ".";
  }
  return wrap(text);
}

std::string drill_lines(const Story& story) {
  if (!story.drill) return "";
  return wrap(
             "This is a DRILL. Nothing is wrong; it only proves that a notice reaches you. "
             "What follows is made up.") +
         "\n";
}

std::string known(const Story& story) {
  std::string lines;
  for (const std::string& sentence : story.evidence) lines += wrap(sentence, "- ", "  ");
  return heading_and("Known:", lines);
}

std::string covered(const Story& story) {
  std::string names;
  for (const std::string& name : story.covered) names += (names.empty() ? "" : ", ") + name;
  return heading_and("Sites there:", wrap(names, "  ", "  "));
}

std::string last_reading(const Story& story, const Telling& telling) {
  if (story.last_reading.empty() || !story.last_reading_at) return "";
  return heading_and("Last reading, " + time_of_day(*story.last_reading_at, telling.now) + ":",
                     wrap(story.last_reading + " (" + story.last_reading_from + ")", "  ", "  "));
}

std::string time_left(const Story& story, const Telling& telling) {
  return heading_and("If the power is out since " + time_of_day(story.since, telling.now) +
                         " (an estimate, counted from then):",
                     wrap(story.time_left, "  ", "  "));
}

std::string check_first(const Story& story) {
  const std::string own = wrap_lines(story.instructions, "  ");
  return heading_and("Check first:", own.empty() ? wrap(default_check(story), "  ", "  ") : own);
}

// In a drill nobody goes anywhere.
std::string take_care(const Story& story) {
  return story.drill ? "" : wrap("Take care: " + caution()) + "\n";
}

std::string loss_body(const Story& story, const Telling& telling) {
  const std::string title =
      story.kind == DecisionKind::cause_revised ? "Cause, as it looks now:" : "Cause:";
  return heading_and(title, wrap(cause_sentence(story), "  ", "  ")) + covered(story) +
         known(story) + heading_and("Not known:", wrap(not_known(story), "  ", "  ")) +
         last_reading(story, telling) + time_left(story, telling) + check_first(story) +
         take_care(story);
}

std::string recovery_body(const Story& story, const Telling& telling) {
  const std::string look =
      story.cause == Cause::mains_power
          ? "After a power cut some equipment does not start by itself. Look at pumps, heater, "
            "lights and skimmer, and at the temperature."
          : "The controller is heard again; nobody has looked at the tank yet. Look at pumps and "
            "temperature when you can.";
  return "\n" + heading_and("Cause:", wrap(cause_sentence(story), "  ", "  ")) + covered(story) +
         known(story) + last_reading(story, telling) +
         heading_and("Still to do:", wrap(look, "  ", "  ")) + wrap("Take care: " + caution()) +
         "\n";
}

std::string gap_body(const Story& story) {
  return "\n" + known(story) +
         heading_and("What this means:",
                     wrap("In that time nobody would have been told of a silent tank. No tank is "
                          "reported lost because of it; those that stay silent from now on are "
                          "told as usual.",
                          "  ", "  ")) +
         heading_and("Check first:",
                     wrap("Power and internet where the watcher stands, and whether its computer "
                          "sleeps or restarts by itself.",
                          "  ", "  "));
}

std::string steadiness_body(const Story& story, const Telling& telling) {
  if (story.kind == DecisionKind::steady) return "\n" + known(story);
  return "\n" + heading_and("Cause:", wrap(cause_sentence(story), "  ", "  ")) + known(story) +
         last_reading(story, telling) +
         heading_and("Check first:",
                     story.instructions.empty()
                         ? wrap("The radio link or cable between controller and router, loose "
                                "plugs, and the router itself. There is no hurry tonight.",
                                "  ", "  ")
                         : wrap_lines(story.instructions, "  ")) +
         take_care(story);
}

std::string body(const Story& story, const Telling& telling) {
  switch (story.kind) {
    case DecisionKind::loss:
    case DecisionKind::cause_revised:
      return "\n" + loss_body(story, telling);
    case DecisionKind::recovery:
      return recovery_body(story, telling);
    case DecisionKind::watch_gap:
      return gap_body(story);
    case DecisionKind::unsteady:
    case DecisionKind::steady:
      return steadiness_body(story, telling);
  }
  return "";
}

std::string quoted(const std::string& text) {
  return boost::json::serialize(boost::json::string(text));
}

// Puts `name` and `text` before the closing brace, so that numbers stay as the core wrote them.
std::string data_json(const Story& story, const std::string& text) {
  INVARIANT(story.decision_json.ends_with('}'));
  std::string data = story.decision_json.substr(0, story.decision_json.size() - 1);
  return data + ",\"name\":" + quoted(story.name) + ",\"text\":" + quoted(text) + "}";
}

}  // namespace

std::string whole_text(const Story& story, const Telling& telling) {
  if (story.topic != Topic::decision) return aside_text(story, telling);
  return drill_lines(story) + wrap(opening(story, telling)) + why_now(story, telling) +
         how_to_answer(story, telling) + body(story, telling) + closing(story, telling);
}

Texts compose(const Story& story, const Telling& telling) {
  Texts texts;
  texts.subject = subject_line(story, telling);
  texts.text = whole_text(story, telling);
  texts.short_text = short_text(story, telling);
  texts.data_json = data_json(story, texts.text);
  return texts;
}

}  // namespace ebbwatch
