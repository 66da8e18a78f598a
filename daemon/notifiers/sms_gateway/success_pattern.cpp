#include "notifiers/sms_gateway/success_pattern.h"

#include <regex>

#include "core/limits.h"

namespace ebbwatch {

struct SuccessPattern::Compiled {
  std::regex expression;
};

namespace {

/// libstdc++ adds the digits of a repeat count up without looking whether they still fit.
bool has_huge_repeat(std::string_view pattern) {
  constexpr std::string_view digits = "0123456789";
  for (auto at = pattern.find('{'); at != pattern.npos; at = pattern.find('{', at + 1)) {
    std::size_t run = 0;
    for (auto i = at + 1;
         i < pattern.size() && (pattern[i] == ',' || digits.find(pattern[i]) != digits.npos); ++i) {
      run = pattern[i] == ',' ? 0 : run + 1;
      if (run > 4) return true;
    }
  }
  return false;
}

}  // namespace

Result<SuccessPattern> SuccessPattern::compile(const std::string& pattern) {
  SuccessPattern out;
  if (pattern.empty()) return out;
  if (has_huge_repeat(pattern)) {
    return Error{Errc::bad_input, "success: a repeat count in {} has at most 4 digits"};
  }
  auto flags = std::regex::ECMAScript;
#ifdef __GLIBCXX__
  // Its usual matcher backtracks: some patterns would stop the loop for ever.
  flags |= std::regex_constants::__polynomial;
#endif
  try {
    out.compiled_ = std::make_shared<const Compiled>(Compiled{std::regex(pattern, flags)});
  } catch (const std::regex_error& error) {
    return Error{Errc::bad_input,
                 std::string("success: not a regular expression: ") + error.what()};
  }
  return out;
}

bool SuccessPattern::matches(std::string_view answer) const {
  if (!compiled_) return true;
  answer = answer.substr(0, limits::answer_matched_bytes_max);
  try {
    return std::regex_search(answer.begin(), answer.end(), compiled_->expression);
  } catch (const std::regex_error&) {
    return false;
  }
}

}  // namespace ebbwatch
