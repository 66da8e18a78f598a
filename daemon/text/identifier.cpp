#include "text/identifier.h"

#include <algorithm>
#include <array>
#include <cstddef>

#include "core/limits.h"

namespace ebbwatch {
namespace {

// Edits: insert, delete, replace, swap of two neighbours ("optimal string alignment"): the four
// slips of a typist.
std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> before(b.size() + 1), last(b.size() + 1), row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) last[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t replace = last[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      row[j] = std::min({last[j] + 1, row[j - 1] + 1, replace});
      const bool swapped = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
      if (swapped) row[j] = std::min(row[j], before[j - 2] + 1);
    }
    std::swap(before, last);
    std::swap(last, row);
  }
  return last[b.size()];
}

bool is_small_letter(char c) {
  return c >= 'a' && c <= 'z';
}

}  // namespace

bool is_identifier(std::string_view text) {
  if (text.empty() || text.size() > limits::identifier_chars_max) return false;
  if (!is_small_letter(text.front())) return false;
  return std::all_of(text.begin(), text.end(), [](char c) {
    return is_small_letter(c) || (c >= '0' && c <= '9') || c == '-';
  });
}

std::optional<std::string> nearest_word(std::string_view word,
                                        const std::vector<std::string>& known) {
  constexpr std::size_t edits_max = 2;
  std::optional<std::string> nearest;
  std::size_t nearest_distance = edits_max + 1;
  for (const std::string& candidate : known) {
    const std::size_t difference =
        std::max(word.size(), candidate.size()) - std::min(word.size(), candidate.size());
    if (difference > edits_max) continue;
    const std::size_t distance = edit_distance(word, candidate);
    if (distance >= nearest_distance || 2 * distance >= word.size()) continue;
    nearest = candidate;
    nearest_distance = distance;
  }
  return nearest;
}

std::string uuid_v7(std::int64_t unix_ms, const unsigned char (&random)[10]) {
  constexpr const char* digits = "0123456789abcdef";
  std::array<unsigned char, 16> bytes{};
  for (std::size_t i = 0; i < 6; ++i) {
    bytes[i] = static_cast<unsigned char>(static_cast<std::uint64_t>(unix_ms) >> (40 - 8 * i));
  }
  for (std::size_t i = 0; i < 10; ++i) bytes[6 + i] = random[i];
  bytes[6] = static_cast<unsigned char>((bytes[6] & 0x0f) | 0x70);  // Version 7.
  bytes[8] = static_cast<unsigned char>((bytes[8] & 0x3f) | 0x80);  // Variant 10.
  std::string text;
  text.reserve(36);
  for (std::size_t i = 0; i < 16; ++i) {
    if (i == 4 || i == 6 || i == 8 || i == 10) text += '-';
    text += digits[bytes[i] >> 4];
    text += digits[bytes[i] & 0x0f];
  }
  return text;
}

}  // namespace ebbwatch
