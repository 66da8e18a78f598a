// The text for phones: one segment of the GSM 7-bit alphabet, most important first.
#include <string>
#include <string_view>

#include "notices/asides.h"
#include "notices/compose.h"
#include "notices/lines.h"
#include "notices/phrases.h"
#include "text/gsm7.h"

namespace ebbwatch {
namespace {

constexpr std::size_t news_septets = 60;
constexpr std::size_t instruction_septets_min = 24;  // Less than this says nothing.

// A story whose names are in the alphabet, so that shortening measures what is sent.
Story in_alphabet(Story story) {
  story.name = gsm7_line(story.name);
  story.place = gsm7_line(story.place);
  story.watcher = gsm7_line(story.watcher);
  return story;
}

class ShortText {
 public:
  explicit ShortText(std::string head) : text_(std::move(head)) {}
  /// Room for one more sentence and the blank before it when `later` still has to go in.
  std::size_t room(std::size_t later) const {
    const std::size_t used = gsm7_septets(text_) + 1 + later;
    return used < segment_septets_max ? segment_septets_max - used : 0;
  }
  /// Adds the whole sentence, after a blank, when it fits beside what is to come.
  void add(const std::string& sentence, std::size_t later) {
    const std::string words = gsm7_line(sentence);
    if (!words.empty() && gsm7_septets(words) <= room(later)) text_ += " " + words;
  }
  const std::string& text() const { return text_; }

 private:
  std::string text_;
};

// As many values as fit, whole: "Last 14:01: water 25.4 C, pH 8.1."
std::string reading_sentence(const Speech& say, const Story& story, std::size_t room) {
  std::string values = gsm7_line(told_in(story, say.language()).last_reading);
  if (values.empty() || !story.last_reading_at) return "";
  // What to do first is worth more than the second value.
  if (!story.instructions.empty()) values = values.substr(0, values.find(", "));
  while (true) {
    const std::string sentence = gsm7_line(
        say(Phrase::short_last, {{"time", say.time(*story.last_reading_at)}, {"values", values}}));
    if (gsm7_septets(sentence) <= room) return sentence;
    const std::size_t comma = values.rfind(", ");
    if (comma == std::string::npos) return "";
    values.resize(comma);
  }
}

std::string first_sentence(const Speech& say, const Story& story, std::size_t room) {
  const std::string own = gsm7_line(story.instructions);
  if (own.empty() || room + 1 < instruction_septets_min) return "";
  const std::size_t around = gsm7_septets(gsm7_line(say(Phrase::short_first, {{"what", "."}})));
  const std::string cut = cut_after_word(own, room - around, gsm7_septets);
  if (cut.empty()) return "";
  const char last = cut.back();
  const bool ended = last == '.' || last == '!' || last == '?';
  return say(Phrase::short_first, {{"what", cut + (ended ? "" : ".")}});
}

std::string covered_sentence(const Story& story, std::size_t room) {
  std::string names;
  for (const std::string& name : story.covered)
    names += (names.empty() ? "" : ", ") + gsm7_line(name);
  if (names.empty() || room < 1) return "";
  const std::string cut = cut_after_word(names, room - 1, gsm7_septets);
  return cut.empty() || cut.ends_with("...") ? cut : cut + ".";
}

void finish_loss(ShortText& text, const Speech& say, const Story& story, const Telling& telling) {
  const std::string care =
      gsm7_line(say(story.drill ? Phrase::short_no_need_to_go : Phrase::short_care));
  const std::size_t reserved = 1 + gsm7_septets(care);
  if (!telling.answer_code.empty()) {
    text.add(say(Phrase::short_reply, {{"code", telling.answer_code}}), 0);
  }
  if (story.kind == DecisionKind::cause_revised) {
    text.add(say(Phrase::short_no_new_outage), reserved);
  }
  text.add(covered_sentence(story, text.room(reserved)), reserved);
  text.add(reading_sentence(say, story, text.room(reserved)), reserved);
  text.add(first_sentence(say, story, text.room(reserved)), reserved);
  text.add(care, 0);
}

void finish_recovery(ShortText& text, const Speech& say, const Story& story) {
  if (story.gone_for) {
    text.add(capital(say.since(story.since)) + ".", 0);
  }
  const std::string cause = short_cause(say, story);
  text.add(cause.empty() ? say(Phrase::short_cause_not_found)
                         : say(Phrase::short_cause, {{"cause", cause}}),
           0);
  text.add(say(Phrase::short_look), 0);
}

void finish_gap(ShortText& text, const Speech& say, const Story& story) {
  text.add(say(Phrase::short_gap, {{"from", say.time(story.since)}, {"to", say.time(story.at)}}),
           0);
  text.add(say(Phrase::short_gap_meaning), 0);
  text.add(say(Phrase::short_gap_check), 0);
}

void finish_reading(ShortText& text, const Speech& say, const Story& story,
                    const Telling& telling) {
  if (story.kind == DecisionKind::recovery) return;
  text.add(capital(say.since(story.since)) + ".", 0);
  const std::string check = gsm7_line(say(Phrase::short_reading_check));
  const std::string care = gsm7_line(say(Phrase::short_care));
  const std::size_t reserved = 1 + gsm7_septets(care);
  if (!telling.answer_code.empty()) {
    text.add(say(Phrase::short_reply, {{"code", telling.answer_code}}), 0);
  }
  text.add(check, reserved);
  text.add(first_sentence(say, story, text.room(reserved)), reserved);
  text.add(care, 0);
}

void finish(ShortText& text, const Speech& say, const Story& story, const Telling& telling) {
  if (story.reading) return finish_reading(text, say, story, telling);
  switch (story.kind) {
    case DecisionKind::loss:
    case DecisionKind::cause_revised:
      return finish_loss(text, say, story, telling);
    case DecisionKind::recovery:
      return finish_recovery(text, say, story);
    case DecisionKind::watch_gap:
      return finish_gap(text, say, story);
    case DecisionKind::unsteady:
      text.add(say(Phrase::short_unsteady), 0);
      text.add(say(Phrase::short_unsteady_check), 0);
      return;
    case DecisionKind::steady:
      return;
  }
}

std::string after_head(const Speech& say, const Story& story) {
  const bool open = story.kind == DecisionKind::loss || story.kind == DecisionKind::cause_revised;
  const std::string cause = open ? gsm7_line(short_cause(say, story)) : "";
  return cause.empty() ? "." : ", " + cause + ".";
}

}  // namespace

std::string short_text(const Story& original, const Telling& telling) {
  if (original.topic != Topic::decision) return aside_short_text(original, telling);
  const Speech say(telling.language, telling.now);
  const Story story = in_alphabet(original);
  const std::string prefix = story.drill ? gsm7_line(say(Phrase::short_drill)) + " " : "";
  const std::string headline = ": " + gsm7_line(news(story, telling, true));
  const std::size_t used = gsm7_septets(prefix) + gsm7_septets(headline);
  const std::size_t room = used < news_septets ? news_septets - used : 0;
  const std::string name = gsm7_line(heading(say, story, room, gsm7_septets));
  ShortText text(prefix + name + headline + after_head(say, story));
  const bool place_told = story.place.empty() || name.find(story.place) != std::string::npos;
  if (!place_told) {
    const std::string place = shorten(story.place, 40, gsm7_septets);
    text.add(place + ".", 0);
  }
  if (telling.occasion == Occasion::later_step) text.add(say(Phrase::short_nobody_yet), 0);
  if (telling.occasion == Occasion::resumed && !story.taken_by.empty()) {
    const std::string by = shorten(gsm7_line(story.taken_by), 20, gsm7_septets);
    text.add(say(Phrase::short_had_it, {{"name", by}}), 0);
  }
  finish(text, say, story, telling);
  return text.text();
}

}  // namespace ebbwatch
