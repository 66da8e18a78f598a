// The headline of a notice, and the lines that are made of little else: subject and event type.
#include <string>

#include "notices/compose.h"
#include "notices/lines.h"
#include "notices/phrases.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

constexpr std::size_t news_columns = 60;

std::string recovery_news(const Story& story, const Telling& telling, bool brief) {
  const bool combined = telling.occasion == Occasion::combined;
  const std::string start = combined ? (brief ? "was lost, is back" : "was lost, contact is back")
                                     : (brief ? "contact back" : "contact is back");
  if (story.gone_for) return start + " after " + span_text(*story.gone_for);
  return start + " since " + time_of_day(story.since, telling.now);
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
  const std::string since = " since " + time_of_day(story.since, telling.now);
  if (story.topic == Topic::taken_on) return one_line(story.taken_by) + " has taken it on";
  if (story.topic == Topic::undelivered) return "a notice did not arrive";
  if (story.topic == Topic::store_failing) return "cannot store what it decides" + since;
  if (story.topic == Topic::store_working) return "can store again";
  switch (story.kind) {
    case DecisionKind::loss:
    case DecisionKind::cause_revised:
      return (told_again(telling.occasion) ? "still no contact" : "no contact") + since;
    case DecisionKind::recovery:
      return recovery_news(story, telling, brief);
    case DecisionKind::watch_gap:
      return "was not watching" + (story.gone_for ? " for " + span_text(*story.gone_for) : since);
    case DecisionKind::unsteady:
      return "contact comes and goes" + since;
    case DecisionKind::steady:
      return "contact steady again" + since;
  }
  return "";
}

std::string event_type(const Story& story) {
  if (story.topic != Topic::decision && !story.drill) {
    return std::string("ebbwatch.") + word(story.topic);
  }
  return std::string("ebbwatch.") + (story.drill ? "drill" : word(story.kind));
}

std::string subject_line(const Story& story, const Telling& telling) {
  const std::string prefix = story.drill ? "DRILL: " : "";
  const std::string headline = ": " + news(story, telling, false);
  const std::size_t used = columns(prefix) + columns(headline);
  const std::size_t room = used < news_columns ? news_columns - used : 0;
  std::string line = prefix + heading(story, room, columns) + headline;
  const std::string cause = short_cause(story);
  const bool tells_cause =
      story.topic == Topic::decision &&
      (story.kind == DecisionKind::loss || story.kind == DecisionKind::cause_revised);
  if (tells_cause && !cause.empty()) {
    const std::string addition =
        (story.kind == DecisionKind::cause_revised ? ", now " : ", ") + cause;
    if (columns(line) + columns(addition) <= notice_columns_max) line += addition;
  }
  return line;
}

}  // namespace ebbwatch
