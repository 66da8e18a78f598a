// The text for phones: one segment of the GSM 7-bit alphabet, most important first.
#include <string>
#include <string_view>

#include "notices/asides.h"
#include "notices/compose.h"
#include "notices/lines.h"
#include "notices/phrases.h"
#include "text/gsm7.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

constexpr std::size_t news_septets = 60;
constexpr std::size_t instruction_septets_min = 24;  // Less than this says nothing.

std::string plain(std::string_view text) {
  return to_gsm7(one_line(text));
}

// A story whose names are in the alphabet, so that shortening measures what is sent.
Story in_alphabet(Story story) {
  story.name = plain(story.name);
  story.place = plain(story.place);
  story.watcher = plain(story.watcher);
  return story;
}

class ShortText {
 public:
  explicit ShortText(std::string head) : text_(std::move(head)) {}
  /// Room that is left when `later` still has to go in.
  std::size_t room(std::size_t later) const {
    const std::size_t used = gsm7_septets(text_) + later;
    return used < segment_septets_max ? segment_septets_max - used : 0;
  }
  /// Adds the whole sentence when it fits beside what is to come.
  void add(const std::string& sentence, std::size_t later) {
    if (!sentence.empty() && gsm7_septets(sentence) <= room(later)) text_ += sentence;
  }
  const std::string& text() const { return text_; }

 private:
  std::string text_;
};

// As many values as fit, whole: " Last 14:01: water 25.4 C, pH 8.1."
std::string reading_sentence(const Story& story, const Telling& telling, std::size_t room) {
  if (story.last_reading.empty() || !story.last_reading_at) return "";
  const std::string start = plain("Last " + time_of_day(*story.last_reading_at, telling.now) + ":");
  std::string values = plain(story.last_reading);
  // What to do first is worth more than the second value.
  if (!story.instructions.empty()) values = values.substr(0, values.find(", "));
  while (true) {
    const std::string sentence = " " + start + " " + values + ".";
    if (gsm7_septets(sentence) <= room) return sentence;
    const std::size_t comma = values.rfind(", ");
    if (comma == std::string::npos) return "";
    values.resize(comma);
  }
}

std::string first_sentence(const Story& story, std::size_t room) {
  const std::string start = " First: ";
  const std::string own = plain(story.instructions);
  if (own.empty() || room < instruction_septets_min) return "";
  const std::string cut = cut_after_word(own, room - start.size() - 1, gsm7_septets);
  if (cut.empty()) return "";
  const char last = cut.back();
  return start + cut + (last == '.' || last == '!' || last == '?' ? "" : ".");
}

std::string covered_sentence(const Story& story, std::size_t room) {
  std::string names;
  for (const std::string& name : story.covered) names += (names.empty() ? "" : ", ") + plain(name);
  if (names.empty() || room < 2) return "";
  const std::string cut = cut_after_word(names, room - 2, gsm7_septets);
  return cut.empty() ? "" : " " + cut + ".";
}

void finish_loss(ShortText& text, const Story& story, const Telling& telling) {
  const std::string care = story.drill ? " No need to go." : " Dry hands, breaker off first.";
  const std::size_t reserved = care.size();
  text.add(telling.answer_code.empty() ? "" : " Reply OK " + telling.answer_code + ".", 0);
  if (story.kind == DecisionKind::cause_revised) text.add(" No new outage.", reserved);
  text.add(covered_sentence(story, text.room(reserved)), reserved);
  text.add(reading_sentence(story, telling, text.room(reserved)), reserved);
  text.add(first_sentence(story, text.room(reserved)), reserved);
  text.add(care, 0);
}

void finish_recovery(ShortText& text, const Story& story, const Telling& telling) {
  if (story.gone_for) text.add(" Since " + time_of_day(story.since, telling.now) + ".", 0);
  const std::string cause = short_cause(story);
  text.add(" Cause: " + (cause.empty() ? "not found" : cause) + ".", 0);
  text.add(" Look at pumps and heater when you can.", 0);
}

void finish_gap(ShortText& text, const Story& story, const Telling& telling) {
  text.add(" " + time_of_day(story.since, telling.now) + " to " +
               time_of_day(story.at, telling.now) + ".",
           0);
  text.add(" No tank is reported lost because of it.", 0);
  text.add(" Check its power and internet.", 0);
}

void finish(ShortText& text, const Story& story, const Telling& telling) {
  switch (story.kind) {
    case DecisionKind::loss:
    case DecisionKind::cause_revised:
      return finish_loss(text, story, telling);
    case DecisionKind::recovery:
      return finish_recovery(text, story, telling);
    case DecisionKind::watch_gap:
      return finish_gap(text, story, telling);
    case DecisionKind::unsteady:
      text.add(" Short losses are not told one by one; a long one is.", 0);
      text.add(" Check plugs, radio link and router. No hurry tonight.", 0);
      return;
    case DecisionKind::steady:
      return;
  }
}

std::string after_head(const Story& story) {
  const bool open = story.kind == DecisionKind::loss || story.kind == DecisionKind::cause_revised;
  const std::string cause = open ? short_cause(story) : "";
  return cause.empty() ? "." : ", " + cause + ".";
}

}  // namespace

std::string short_text(const Story& original, const Telling& telling) {
  if (original.topic != Topic::decision) return aside_short_text(original, telling);
  const Story story = in_alphabet(original);
  const std::string prefix = story.drill ? "DRILL, all is well. " : "";
  const std::string headline = ": " + plain(news(story, telling, true));
  const std::size_t used = gsm7_septets(prefix) + gsm7_septets(headline);
  const std::size_t room = used < news_septets ? news_septets - used : 0;
  const std::string name = heading(story, room, gsm7_septets);
  ShortText text(prefix + name + headline + after_head(story));
  const bool place_told = story.place.empty() || name.find(story.place) != std::string::npos;
  if (!place_told) {
    const std::string place = shorten(story.place, 40, gsm7_septets);
    text.add(" " + place + ".", 0);
  }
  if (telling.occasion == Occasion::later_step) text.add(" Nobody has it yet.", 0);
  if (telling.occasion == Occasion::resumed && !story.taken_by.empty()) {
    text.add(" " + shorten(plain(story.taken_by), 20, gsm7_septets) + " had it, not any more.", 0);
  }
  finish(text, story, telling);
  return text.text();
}

}  // namespace ebbwatch
