#include "charts/lettering.h"

#include "text/markup.h"
#include "text/utf8.h"

namespace ebbwatch::charts {
namespace {

constexpr char32_t replacement = 0xFFFD;

bool is_control(char32_t c) {
  return c < 0x20 || (c >= 0x7F && c < 0xA0) || c == 0xFFFE || c == 0xFFFF;
}

// Bytes of the first `characters` characters.
std::size_t bytes_of(std::string_view text, std::size_t characters) {
  std::size_t at = 0;
  while (at < text.size() && characters > 0) {
    at += code_point_at(text, at).bytes;
    --characters;
  }
  return at;
}

}  // namespace

std::string clean(std::string_view text) {
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const CodePoint point = code_point_at(text, at);
    at += point.bytes;
    if (point.value == '\n' || point.value == '\t' || point.value == '\r') {
      out += ' ';
    } else {
      append_utf8(out, is_control(point.value) ? replacement : point.value);
    }
  }
  return out;
}

std::string escaped(std::string_view text) {
  return ebbwatch::escaped(clean(text));
}

std::size_t width(std::string_view text) {
  std::size_t count = 0;
  for (std::size_t at = 0; at < text.size(); at += code_point_at(text, at).bytes) ++count;
  return count;
}

std::string cut(std::string_view text, std::size_t columns) {
  if (width(text) <= columns) return std::string(text);
  if (columns < 3) return std::string(text.substr(0, bytes_of(text, columns)));
  return std::string(text.substr(0, bytes_of(text, columns - 2))) + "..";
}

std::string right_aligned(std::string_view text, std::size_t columns) {
  const std::string shown = cut(text, columns);
  return std::string(columns - width(shown), ' ') + shown;
}

std::vector<std::string> wrapped(std::string_view text, std::size_t columns) {
  std::vector<std::string> lines(1);
  while (!text.empty()) {
    const auto space = text.find(' ');
    std::string_view word = text.substr(0, space);
    text.remove_prefix(space == text.npos ? text.size() : space + 1);
    const std::size_t needed = width(word) + (lines.back().empty() ? 0 : 1);
    if (width(lines.back()) + needed > columns && !lines.back().empty()) lines.emplace_back();
    while (width(word) > columns) {
      const std::size_t part = bytes_of(word, columns);
      lines.back() = word.substr(0, part);
      word.remove_prefix(part);
      lines.emplace_back();
    }
    if (!lines.back().empty() && !word.empty()) lines.back() += ' ';
    lines.back() += word;
  }
  if (lines.size() > 1 && lines.back().empty()) lines.pop_back();
  return lines;
}

}  // namespace ebbwatch::charts
