#include "notices/lines.h"

#include <array>
#include <vector>

#include "text/gsm7.h"
#include "text/utf8.h"

namespace ebbwatch {
namespace {

struct Range {
  char32_t first, last;
};

// Common practice of terminals (Unicode categories Mn, Me and East Asian Width W, F), coarse.
constexpr std::array<Range, 6> no_width{{{0x0300, 0x036F},
                                         {0x0483, 0x0489},
                                         {0x0591, 0x05BD},
                                         {0x200B, 0x200F},
                                         {0x20D0, 0x20FF},
                                         {0xFE00, 0xFE0F}}};
constexpr std::array<Range, 8> double_width{{{0x1100, 0x115F},
                                             {0x2E80, 0x303E},
                                             {0x3041, 0xA4CF},
                                             {0xAC00, 0xD7A3},
                                             {0xF900, 0xFAFF},
                                             {0xFF00, 0xFF60},
                                             {0x1F300, 0x1FAFF},
                                             {0x20000, 0x3FFFD}}};

template <std::size_t N>
bool in(const std::array<Range, N>& ranges, char32_t character) {
  for (const Range& range : ranges) {
    if (character >= range.first && character <= range.last) return true;
  }
  return false;
}

std::size_t columns_of(char32_t character) {
  if (character < 0x0300) return 1;
  if (in(no_width, character)) return 0;
  return in(double_width, character) ? 2 : 1;
}

bool is_space_or_control(char32_t character) {
  return character <= 0x20 || (character >= 0x7F && character <= 0xA0) || character == 0x2028 ||
         character == 0x2029;
}

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}
bool joins_digits(char c) {
  return c == '.' || c == ',' || c == ':' || c == '/' || c == '-';
}

// Whether a cut before text[at] would part the digits of one number, time or date.
bool within_number(std::string_view text, std::size_t at) {
  if (at == 0 || at >= text.size()) return false;
  const char before = text[at - 1], after = text[at];
  if (is_digit(before) && is_digit(after)) return true;
  if (is_digit(before) && joins_digits(after))
    return at + 1 < text.size() && is_digit(text[at + 1]);
  if (joins_digits(before) && is_digit(after)) return at >= 2 && is_digit(text[at - 2]);
  return false;
}

// Whether the space at text[at] stands between two groups of one number.
bool between_groups(std::string_view text, std::size_t at) {
  return at > 0 && at + 1 < text.size() && is_digit(text[at - 1]) && is_digit(text[at + 1]);
}

std::vector<std::string_view> words_of(std::string_view text) {
  std::vector<std::string_view> words;
  std::size_t at = 0;
  while (at < text.size()) {
    const std::size_t end = std::min(text.find(' ', at), text.size());
    if (end > at) words.push_back(text.substr(at, end - at));
    at = end + 1;
  }
  return words;
}

// The longest beginning of `word` in `room` columns, at least one character.
std::string_view fitting(std::string_view word, std::size_t room) {
  std::size_t used = 0, at = 0;
  while (at < word.size()) {
    const CodePoint next = code_point_at(word, at);
    used += columns_of(next.value);
    if (used > room && at > 0) break;
    at += next.bytes;
  }
  return word.substr(0, at);
}

// Where the tail that shorten() keeps begins: the last word, when it takes less than half the room.
std::size_t tail_begin(std::string_view name, std::size_t room, Measure measure) {
  const std::size_t space = name.rfind(' ');
  if (space == std::string_view::npos) return name.size();
  const std::string_view last = name.substr(space + 1);
  return measure(last) * 2 < room && !between_groups(name, space) ? space + 1 : name.size();
}

std::string_view without_end(std::string_view text, std::string_view unwanted) {
  while (!text.empty() && unwanted.find(text.back()) != std::string_view::npos) {
    text.remove_suffix(1);
  }
  return text;
}

// The nearest place at or before `end` where a cut parts no number.
std::size_t before_number(std::string_view name, std::size_t end) {
  while (true) {
    while (within_number(name, end)) --end;
    while (end > 0 && name[end - 1] == ' ') --end;
    if (end == name.size() || name[end] != ' ' || !between_groups(name, end)) return end;
    while (end > 0 && name[end - 1] != ' ') --end;
  }
}

}  // namespace

std::size_t columns(std::string_view text) {
  std::size_t sum = 0;
  for (std::size_t at = 0; at < text.size();) {
    const CodePoint next = code_point_at(text, at);
    sum += columns_of(next.value);
    at += next.bytes;
  }
  return sum;
}

std::string one_line(std::string_view text) {
  std::string line;
  bool space = false;
  for (std::size_t at = 0; at < text.size();) {
    const CodePoint next = code_point_at(text, at);
    at += next.bytes;
    if (is_space_or_control(next.value)) {
      space = !line.empty();
      continue;
    }
    if (space) line += ' ';
    space = false;
    append_utf8(line, next.value);
  }
  return line;
}

std::string gsm7_line(std::string_view text) {
  return to_gsm7(one_line(text));
}

std::string wrap(std::string_view paragraph, std::string_view first_indent,
                 std::string_view indent) {
  std::string lines;
  std::string line(first_indent);
  std::size_t width = columns(line);
  bool fresh = true;
  const auto break_line = [&] {
    lines += line + "\n";
    line = indent;
    width = columns(line);
    fresh = true;
  };
  const std::string clean = one_line(paragraph);
  for (std::string_view word : words_of(clean)) {
    std::size_t word_width = columns(word);
    if (!fresh && width + 1 + word_width > notice_columns_max) break_line();
    if (!fresh) {
      line += ' ';
      ++width;
    }
    while (width + word_width > notice_columns_max) {
      const std::string_view part = fitting(word, notice_columns_max - width);
      line += part;
      break_line();
      word.remove_prefix(part.size());
      word_width = columns(word);
    }
    line += word;
    width += word_width;
    fresh = false;
  }
  return fresh ? lines : lines + line + "\n";
}

std::string wrap_lines(std::string_view text, std::string_view indent) {
  std::string lines;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    const std::string wrapped = wrap(text.substr(0, end), indent, indent);
    lines += wrapped.empty() ? "\n" : wrapped;
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  while (lines.size() >= 2 && lines.ends_with("\n\n")) lines.pop_back();
  return lines == "\n" ? "" : lines;
}

std::string shorten(std::string_view name, std::size_t room, Measure measure) {
  constexpr std::string_view gap = "...";
  if (measure(name) <= room) return std::string(name);
  if (measure(gap) > room) return "";
  const std::size_t tail_at = tail_begin(name, room, measure);
  const std::string tail = tail_at < name.size() ? " " + std::string(name.substr(tail_at)) : "";
  const std::size_t rest = room - measure(gap) - std::min(measure(tail), room - measure(gap));
  std::size_t end = 0;
  for (std::size_t at = 0, used = 0; at < tail_at; end = at) {
    const std::size_t bytes = code_point_at(name, at).bytes;
    used += measure(name.substr(at, bytes));
    if (used > rest) break;
    at += bytes;
  }
  end = before_number(name, end);
  return std::string(without_end(name.substr(0, end), " ,;:-(")) + std::string(gap) + tail;
}

std::string cut_after_word(std::string_view text, std::size_t room, Measure measure) {
  constexpr std::string_view gap = "...";
  if (measure(text) <= room) return std::string(text);
  std::string_view kept;
  std::size_t used = measure(gap), measured = 0;
  for (std::size_t space = text.find(' '); space != std::string_view::npos;
       space = text.find(' ', space + 1)) {
    used += measure(text.substr(measured, space - measured));
    measured = space;
    if (used > room) break;
    if (!between_groups(text, space)) kept = text.substr(0, space);
  }
  kept = without_end(kept, " ,;:-(.");
  return kept.empty() ? "" : std::string(kept) + std::string(gap);
}

}  // namespace ebbwatch
