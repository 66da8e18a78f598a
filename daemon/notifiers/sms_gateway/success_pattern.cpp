#include "notifiers/sms_gateway/success_pattern.h"

#include <regex>

#include "core/limits.h"

namespace ebbwatch {

struct SuccessPattern::Compiled {
  std::regex expression;
};

Result<SuccessPattern> SuccessPattern::compile(const std::string& pattern) {
  SuccessPattern out;
  if (pattern.empty()) return out;
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
