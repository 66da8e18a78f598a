#include "notices/compose.h"

#include <boost/json/serialize.hpp>
#include <boost/json/string.hpp>
#include <vector>

#include "core/invariant.h"
#include "notices/asides.h"
#include "notices/lines.h"
#include "notices/phrases.h"
#include "notices/reading_news.h"

namespace ebbwatch {
namespace {

// A notice that waited this long is told as old news.
constexpr Span late_after = Span::of_min(10);

std::string heading_and(const std::string& title, const std::string& lines) {
  return lines.empty() ? "" : title + "\n" + lines + "\n";
}

std::string part(const Speech& say, Phrase title, const std::string& paragraph) {
  return heading_and(say(title), wrap(paragraph, "  ", "  "));
}

std::string opening_back(const Speech& say, const Story& story) {
  const std::string back =
      say(Phrase::opening_back, {{"who", who(say, story)}, {"since", say.since(story.since)}});
  if (!story.gone_for) return back;
  const std::string span = span_text(*story.gone_for);
  if (!story.lost_at) return back + " " + say(Phrase::it_was_gone, {{"span", span}});
  return back + " " +
         say(Phrase::it_was_gone_between,
             {{"span", span}, {"from", say.from(*story.lost_at)}, {"to", say.to(story.since)}});
}

std::string opening_gap(const Speech& say, const Story& story) {
  const Phrase which = story.gone_for ? Phrase::opening_gap_span : Phrase::opening_gap;
  return say(which, {{"watcher", story.watcher},
                     {"from", say.from(story.since)},
                     {"to", say.to(story.at)},
                     {"span", story.gone_for ? span_text(*story.gone_for) : ""}});
}

std::string opening(const Speech& say, const Story& story, const Telling& telling) {
  const auto tell = [&](Phrase which) {
    return say(which, {{"who", who(say, story)},
                       {"since", say.since(story.since)},
                       {"span", span_text(telling.now - story.since)}});
  };
  if (story.reading) return opening_of_reading(say, story);
  switch (story.kind) {
    case DecisionKind::loss:
    case DecisionKind::cause_revised:
      return tell(told_again(telling.occasion) ? Phrase::opening_still_lost : Phrase::opening_loss);
    case DecisionKind::recovery:
      return opening_back(say, story);
    case DecisionKind::watch_gap:
      return opening_gap(say, story);
    case DecisionKind::unsteady:
      return tell(Phrase::opening_unsteady);
    case DecisionKind::steady:
      return tell(Phrase::opening_steady);
  }
  return "";
}

std::string why_resumed(const Speech& say, const Story& story) {
  if (story.reading) return say(Phrase::why_reading_resumed);
  if (story.taken_by.empty()) return say(Phrase::why_not_away_any_more);
  const std::string name = one_line(story.taken_by);
  if (!story.taken_at) return say(Phrase::why_ran_out, {{"name", name}});
  return say(Phrase::why_ran_out_since, {{"name", name}, {"at", say.at(*story.taken_at)}});
}

std::string why_combined(const Speech& say, const Story& story) {
  if (story.reading) return say(Phrase::why_reading_combined);
  if (!story.lost_at) return say(Phrase::why_combined);
  return say(Phrase::why_combined_since, {{"at", say.at(*story.lost_at)}});
}

std::string why_now(const Speech& say, const Story& story, const Telling& telling) {
  switch (telling.occasion) {
    case Occasion::later_step:
      return say(Phrase::why_later_step);
    case Occasion::resumed:
      return why_resumed(say, story);
    case Occasion::reminder:
      return say(Phrase::why_reminder);
    case Occasion::combined:
      return why_combined(say, story);
    case Occasion::first:
      break;
  }
  if (story.kind == DecisionKind::cause_revised) return say(Phrase::why_revised);
  if (telling.now - story.at < late_after) return "";
  return say(Phrase::why_late, {{"at", say.at(story.at)}, {"now", say.at(telling.now)}});
}

std::string drill_lines(const Speech& say, const Story& story) {
  return story.drill ? wrap(say(Phrase::this_is_a_drill)) + "\n" : "";
}

std::string known(const Speech& say, const std::vector<std::string>& evidence) {
  std::string lines;
  for (const std::string& sentence : evidence) lines += wrap(sentence, "- ", "  ");
  return heading_and(say(Phrase::title_known), lines);
}

std::string covered(const Speech& say, const Story& story) {
  std::string names;
  for (const std::string& name : story.covered) names += (names.empty() ? "" : ", ") + name;
  return part(say, Phrase::title_sites, names);
}

std::string last_reading(const Speech& say, const Story& story, const Translation& told) {
  if (told.last_reading.empty() || !story.last_reading_at) return "";
  return heading_and(say(Phrase::title_last_reading, {{"time", say.time(*story.last_reading_at)}}),
                     wrap(told.last_reading + " (" + story.last_reading_from + ")", "  ", "  "));
}

std::string time_left(const Speech& say, const Story& story, const Translation& told) {
  return heading_and(say(Phrase::title_time_left, {{"since", say.since(story.since)}}),
                     wrap(told.time_left, "  ", "  "));
}

// The owner's own words, else ours.
std::string check_first(const Speech& say, const Story& story, const std::string& usual) {
  const std::string own = wrap_lines(story.instructions, "  ");
  return heading_and(say(Phrase::title_check_first), own.empty() ? wrap(usual, "  ", "  ") : own);
}

// In a drill nobody goes anywhere.
std::string take_care(const Speech& say, const Story& story) {
  return story.drill ? "" : wrap(say(Phrase::take_care)) + "\n";
}

std::string loss_body(const Speech& say, const Story& story, const Translation& told) {
  const bool revised = story.kind == DecisionKind::cause_revised;
  return part(say, revised ? Phrase::title_cause_now : Phrase::title_cause,
              cause_sentence(say, story)) +
         covered(say, story) + known(say, told.evidence) +
         part(say, Phrase::title_not_known, not_known(say, story)) +
         last_reading(say, story, told) + time_left(say, story, told) +
         check_first(say, story, default_check(say, story)) + take_care(say, story);
}

std::string recovery_body(const Speech& say, const Story& story, const Translation& told) {
  const Phrase look =
      story.cause == Cause::mains_power ? Phrase::look_after_cut : Phrase::look_after_return;
  return part(say, Phrase::title_cause, cause_sentence(say, story)) + covered(say, story) +
         known(say, told.evidence) + last_reading(say, story, told) +
         part(say, Phrase::title_still_to_do, say(look)) + wrap(say(Phrase::take_care)) + "\n";
}

std::string gap_body(const Speech& say, const Translation& told) {
  return known(say, told.evidence) + part(say, Phrase::title_meaning, say(Phrase::gap_meaning)) +
         part(say, Phrase::title_check_first, say(Phrase::gap_check));
}

std::string unsteady_body(const Speech& say, const Story& story, const Translation& told) {
  return part(say, Phrase::title_cause, cause_sentence(say, story)) + known(say, told.evidence) +
         last_reading(say, story, told) + check_first(say, story, say(Phrase::check_unsteady)) +
         take_care(say, story);
}

std::string reading_body(const Speech& say, const Story& story) {
  const std::string from = heading_and(
      say(Phrase::title_known),
      wrap(say(Phrase::reading_from, {{"name", story.reading->controller}}), "- ", "  "));
  if (story.kind == DecisionKind::recovery) return from;
  const bool device = story.reading->name.starts_with("watts.");
  return from + (device ? "" : part(say, Phrase::title_not_known, say(Phrase::reading_not_known))) +
         check_first(say, story, check_of_reading(say, story)) + take_care(say, story);
}

std::string body(const Speech& say, const Story& story) {
  if (story.reading) return reading_body(say, story);
  const Translation told = told_in(story, say.language());
  switch (story.kind) {
    case DecisionKind::loss:
    case DecisionKind::cause_revised:
      return loss_body(say, story, told);
    case DecisionKind::recovery:
      return recovery_body(say, story, told);
    case DecisionKind::watch_gap:
      return gap_body(say, told);
    case DecisionKind::unsteady:
      return unsteady_body(say, story, told);
    case DecisionKind::steady:
      return known(say, told.evidence);
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
  const Speech say(telling.language, telling.now);
  return drill_lines(say, story) + wrap(opening(say, story, telling)) +
         wrap(why_now(say, story, telling)) + how_to_answer(story, telling) + "\n" +
         body(say, story) + closing(story, telling);
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
