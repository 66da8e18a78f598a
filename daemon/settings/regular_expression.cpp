#include "settings/regular_expression.h"

// g++ 12 sees uninitialised values in its own <regex> when sanitizers are on (GCC bug 105562).
#if defined(__GNUC__) && !defined(__clang__)
#pragma GCC diagnostic ignored "-Wmaybe-uninitialized"
#endif

#include <regex>

namespace ebbwatch {

bool is_regular_expression(const std::string& text) {
  auto flags = std::regex::ECMAScript;
#ifdef __GLIBCXX__
  flags |= std::regex_constants::__polynomial;  // As the matcher has it.
#endif
  try {
    const std::regex tried(text, flags);
    return true;
  } catch (const std::regex_error&) {
    return false;
  }
}

}  // namespace ebbwatch
