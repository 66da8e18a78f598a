// What every fuzz target shares: a claim that ends the run when it is false, and the parts of an
// input. A target is one function that libFuzzer calls (tools/fuzz); corpus_main.cpp calls it with
// every file of the corpus, so that each find stays found.
#pragma once

#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <string_view>

#include "text/utf8.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace ebbwatch::fuzz {

[[noreturn]] inline void broken(const char* claim, const char* file, int line) {
  std::fprintf(stderr, "%s:%d: does not hold: %s\n", file, line, claim);
  std::abort();
}
#define MUST(claim) \
  (static_cast<bool>(claim) ? void() : ::ebbwatch::fuzz::broken(#claim, __FILE__, __LINE__))

/// An input, cut at line ends where a target wants several texts: readable, and easy to mutate.
class Input {
 public:
  Input(const std::uint8_t* data, std::size_t size)
      : left_(reinterpret_cast<const char*>(data), size) {}

  bool empty() const { return left_.empty(); }
  /// The next line without its LF.
  std::string_view line() {
    const auto end = left_.find('\n');
    const auto out = left_.substr(0, end);
    left_.remove_prefix(end == std::string_view::npos ? left_.size() : end + 1);
    return out;
  }
  std::string_view rest() const { return left_; }

 private:
  std::string_view left_;
};

/// `text` with every `name` replaced, so that an input can hold what a mutation never guesses.
inline std::string replaced(std::string text, std::string_view name, std::string_view value) {
  for (auto at = text.find(name); at != text.npos; at = text.find(name, at + value.size())) {
    text.replace(at, name.size(), value);
  }
  return text;
}

/// Fit for a log: one line of UTF-8 of bounded length, and not empty.
inline bool is_sentence(std::string_view text) {
  return !text.empty() && text.size() < 2000 && is_utf8(text) &&
         text.find_first_of("\r\n") == text.npos;
}

/// What a header field's value may not hold (RFC 9110 §5.5).
inline bool is_field_value(std::string_view text) {
  return text.find_first_of(std::string_view("\r\n\0", 3)) == text.npos;
}

}  // namespace ebbwatch::fuzz
