#include "app/answering.h"

#include "reporting/log.h"
#include "settings/plan.h"
#include "text/gsm7.h"
#include "words/speech.h"

namespace ebbwatch {
namespace {

constexpr std::size_t text_logged_max = 160;
constexpr std::size_t number_logged_max = 3;

// Enough to know a number that one knows.
std::string end_of_number(const std::string& number) {
  if (number.size() <= number_logged_max) return quoted(number);
  return quoted("…" + number.substr(number.size() - number_logged_max));
}

}  // namespace

IncomingAnswer Answering::incoming_text(const std::string& notifier, const std::string& from,
                                        const std::string& text) {
  IncomingAnswer answer = read_reply(engine_->settings(), *this, from, text);
  answer.reply = to_gsm7(answer.reply);  // It goes back to a phone.
  using Kind = IncomingAnswer::Kind;
  const bool answered = answer.kind == Kind::acknowledged || answer.kind == Kind::had_already ||
                        answer.kind == Kind::confirmed_drill;
  if (answered) return answer;
  ++not_understood_;
  say(Level::warning, "text_not_answering",
      "A text from " + end_of_number(from) + " by " + notifier + " answers nothing (" +
          (answer.kind == Kind::unknown_sender ? "nobody has this number"
           : answer.kind == Kind::unknown_code ? "no running outage has its code"
           : answer.kind == Kind::not_told     ? "its sender was not told of that outage"
                                               : "not understood") +
          "): " + quoted(text.substr(0, text_logged_max)) + ". That makes " +
          std::to_string(not_understood_) + " since the start.");
  return answer;
}

AnswerSink::Question Answering::question(OutageId outage, Language language) const {
  Question out;
  if (const DrillRow* drill = engine_->drills().open(outage)) {
    out.running = out.drill = true;
    out.title = drill->site;
    return out;
  }
  const OutageRecord* record = engine_->watch().outage(outage);
  if (record == nullptr || record->closed) return out;
  out.running = true;
  out.title = subject_name(engine_->settings(), engine_->watch().plan(), record->subject);
  out.since = Speech(language, clock_.wall_now()).since(clock_.to_wall(record->since));
  out.taken_by = name_of(engine_->taken_by(outage));
  return out;
}

std::string Answering::name_of(const std::string& keyholder) const {
  for (const auto& one : engine_->settings().keyholders) {
    if (one.id == keyholder) return one.name;
  }
  return keyholder;
}

Language Answering::language_of(const std::string& keyholder) const {
  for (const auto& one : engine_->settings().keyholders) {
    if (one.id == keyholder) return first_known_language(one.languages);
  }
  return Language::english;
}

bool Answering::answer_by_link(const LinkRow& link) {
  return engine_->acknowledge(link.outage, {link.keyholder, AnswerWay::link, link.notifier}).ok();
}

std::vector<OutageId> Answering::open_questions() const {
  std::vector<OutageId> open = engine_->drills().all_open();
  for (const auto& record : engine_->watch().state().outages) {
    if (!record.closed) open.push_back(record.id);
  }
  return open;
}

IncomingAnswer Answering::answer_by_text(OutageId outage, const KeyholderSettings& keyholder) {
  using Kind = IncomingAnswer::Kind;
  const Language language = first_known_language(keyholder.languages);
  const Speech say(language, clock_.wall_now());
  const Question what = question(outage, language);
  if (what.drill) {
    if (!engine_->acknowledge(outage, {keyholder.id, AnswerWay::text})) {
      return {Kind::unknown_code, say(Phrase::reply_drill_not_yours)};
    }
    return {Kind::confirmed_drill, say(Phrase::reply_drill_done)};
  }
  if (!engine_->dispatcher().was_told(outage, keyholder.id)) {
    return {Kind::not_told, say(Phrase::reply_not_told)};
  }
  const std::string before = engine_->taken_by(outage);
  if (before == keyholder.id) return {Kind::had_already, say(Phrase::reply_had_already)};
  if (!engine_->acknowledge(outage, {keyholder.id, AnswerWay::text}))
    return {Kind::over, say(Phrase::reply_over)};
  std::string reply = say(Phrase::reply_done);
  if (!before.empty()) reply += " " + say(Phrase::reply_had_it_before, {{"name", name_of(before)}});
  return {Kind::acknowledged, reply};
}

bool Answering::waits_for(OutageId outage, const std::string& keyholder) const {
  return engine_->drills().open(outage) == nullptr && engine_->taken_by(outage).empty() &&
         engine_->dispatcher().was_told(outage, keyholder);
}

}  // namespace ebbwatch
