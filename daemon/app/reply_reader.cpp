#include "app/reply_reader.h"

#include <algorithm>

#include "app/answer_book.h"
#include "notices/answers.h"
#include "words/catalogue.h"

namespace ebbwatch {
namespace {

constexpr std::size_t number_bytes_max = 64, text_bytes_max = 1024;

std::string digits_of(std::string_view number) {
  std::string digits;
  for (const char c : number.substr(0, number_bytes_max)) {
    if (c >= '0' && c <= '9') digits += c;
  }
  const bool plus = number.find('+') != std::string_view::npos;
  if (!plus && digits.starts_with("00")) digits.erase(0, 2);
  return digits;
}

IncomingAnswer take_all(ReplySink& sink, const KeyholderSettings& who) {
  using Kind = IncomingAnswer::Kind;
  std::size_t taken = 0;
  for (const OutageId outage : sink.open_questions()) {
    if (!sink.waits_for(outage, who.id)) continue;
    if (sink.answer_by_text(outage, who).kind == Kind::acknowledged) ++taken;
  }
  if (taken == 0) {
    return {Kind::had_already, "Nothing that you were told of waits for anybody now."};
  }
  return {Kind::acknowledged, "You have " + std::to_string(taken) +
                                  (taken == 1 ? " outage" : " outages") +
                                  " now. The call lists stop."};
}

}  // namespace

bool same_number(std::string_view a, std::string_view b) {
  const std::string digits = digits_of(a);
  return !digits.empty() && digits == digits_of(b);
}

const KeyholderSettings* keyholder_of(const Settings& settings, std::string_view number) {
  for (const auto& one : settings.keyholders) {
    if (!one.phone.empty() && same_number(one.phone, number)) return &one;
  }
  return nullptr;
}

IncomingAnswer read_reply(const Settings& settings, ReplySink& sink, const std::string& from,
                          const std::string& text) {
  using Kind = IncomingAnswer::Kind;
  const KeyholderSettings* who = keyholder_of(settings, from);
  if (who == nullptr) return {Kind::unknown_sender, ""};
  if (takes_all(std::string_view(text).substr(0, text_bytes_max))) return take_all(sink, *who);
  const auto codes = codes_in_reply(std::string_view(text).substr(0, text_bytes_max));
  const Language language = first_known_language(who->languages);
  const auto say = [language](Phrase which) { return std::string(phrase(language, which)); };
  if (codes.empty()) return {Kind::not_understood, say(Phrase::reply_not_understood)};
  IncomingAnswer best{Kind::unknown_code, say(Phrase::reply_unknown_code)};
  for (const OutageId outage : sink.open_questions()) {
    const auto code = AnswerBook::code_of(outage);
    if (std::find(codes.begin(), codes.end(), code) == codes.end()) continue;
    const IncomingAnswer one = sink.answer_by_text(outage, *who);
    if (one.kind < best.kind) best = one;
  }
  return best;
}

}  // namespace ebbwatch
