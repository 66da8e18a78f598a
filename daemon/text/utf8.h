// UTF-8, one character at a time.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace ebbwatch {

/// One character of a text: its code point and how many bytes it takes (at least 1).
struct CodePoint {
  char32_t value = 0;
  std::size_t bytes = 1;
  bool valid = true;  ///< False: not UTF-8 here; `value` is U+FFFD and `bytes` is 1.
};

/// The character that starts at `at`, as RFC 3629 reads it (no surrogates, no overlong forms).
/// @pre at < text.size()
CodePoint code_point_at(std::string_view text, std::size_t at);
/// True when every byte of `text` belongs to a character.
bool is_utf8(std::string_view text);
void append_utf8(std::string& text, char32_t code_point);

}  // namespace ebbwatch
