#include "notices/answers.h"

#include <algorithm>
#include <array>

namespace ebbwatch {
namespace {

constexpr std::size_t code_digits = 4;
// In lower case and in the phone's alphabet. More than the notices ask for, because people answer
// as they speak.
constexpr std::array<std::string_view, 9> yes_words{"ok", "okay", "yes",     "y",   "ja",
                                                    "j",  "si",   "s\u00ed", "vale"};

bool is_code_digit(char c) {
  return c >= '0' && c <= '9';
}

// What people type around a code, and what telephones add.
bool is_between(char c) {
  return c == ' ' || c == '\t' || c == '\r' || c == '\n' || c == ',' || c == '.' || c == ';' ||
         c == ':' || c == '-' || c == '!' || c == '"' || c == '\'' || c == '#' || c == '(' ||
         c == ')' || c == '+' || c == '/';
}

std::string lower(std::string_view text) {
  std::string low(text);
  for (char& c : low) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return low;
}

void skip_between(std::string_view& text) {
  while (!text.empty() && is_between(text.front())) text.remove_prefix(1);
}

void skip_yes(std::string_view& text) {
  std::size_t longest = 0;
  for (std::string_view yes : yes_words) {
    if (!text.starts_with(yes) || yes.size() <= longest) continue;
    // "ok4271" is meant as a yes, "okapi 4271" is not.
    const bool whole = text.size() == yes.size() || is_between(text[yes.size()]) ||
                       is_code_digit(text[yes.size()]);
    if (whole) longest = yes.size();
  }
  text.remove_prefix(longest);
}

// Empty when the next word is not a code.
std::string take_code(std::string_view& text) {
  std::size_t digits = 0;
  while (digits < text.size() && is_code_digit(text[digits])) ++digits;
  if (digits != code_digits) return "";
  if (digits < text.size() && !is_between(text[digits])) return "";
  std::string code(text.substr(0, digits));
  text.remove_prefix(digits);
  return code;
}

// In lower case.
constexpr std::array<std::string_view, 6> all_words{"all",  "alle",  "alles",
                                                    "todo", "todos", "todas"};

}  // namespace

bool takes_all(std::string_view text) {
  const std::string low = lower(text);
  std::string_view rest = low;
  skip_between(rest);
  const std::size_t before = rest.size();
  skip_yes(rest);
  if (rest.size() == before) return false;
  skip_between(rest);
  return std::any_of(all_words.begin(), all_words.end(), [&](std::string_view all) {
    return rest.starts_with(all) && (rest.size() == all.size() || is_between(rest[all.size()]));
  });
}

const char* word(AnswerWay way) {
  switch (way) {
    case AnswerWay::board:
      return "board";
    case AnswerWay::command_line:
      return "command_line";
    case AnswerWay::link:
      return "link";
    case AnswerWay::text:
      return "text";
    case AnswerWay::drill:
      return "drill";
    case AnswerWay::other_watcher:
      return "other_watcher";
  }
  return "command_line";
}

std::optional<AnswerWay> answer_way(std::string_view text) {
  for (AnswerWay way : {AnswerWay::board, AnswerWay::command_line, AnswerWay::link, AnswerWay::text,
                        AnswerWay::drill, AnswerWay::other_watcher}) {
    if (text == word(way)) return way;
  }
  return std::nullopt;
}

std::vector<std::string> codes_in_reply(std::string_view text) {
  const std::string low = lower(text);
  std::string_view rest = low;
  skip_between(rest);
  skip_yes(rest);
  skip_between(rest);
  std::vector<std::string> codes;
  for (std::string code = take_code(rest); !code.empty(); code = take_code(rest)) {
    if (std::find(codes.begin(), codes.end(), code) == codes.end()) codes.push_back(code);
    skip_between(rest);
  }
  return codes;
}

}  // namespace ebbwatch
