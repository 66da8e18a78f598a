// Identifiers, and the nearest known word for a misspelt one.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace ebbwatch {

/// 1 to 63 of `a-z 0-9 -`, starting with a letter.
bool is_identifier(std::string_view text);
/// The word of `known` with the smallest edit distance to `word`, when that is at most 2 and less
/// than half of its length.
std::optional<std::string> nearest_word(std::string_view word,
                                        const std::vector<std::string>& known);
/// RFC 9562 version 7 from a time and 10 random bytes. Not a secret.
std::string uuid_v7(std::int64_t unix_ms, const unsigned char (&random)[10]);

}  // namespace ebbwatch
