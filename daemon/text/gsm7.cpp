#include "text/gsm7.h"

#include <algorithm>
#include <array>

#include "text/transliteration.h"
#include "text/utf8.h"

namespace ebbwatch {
namespace {

constexpr unsigned char escape = 0x1B;

// 3GPP TS 23.038 §6.2.1; the place of a character is its code. Code 0x1B is the escape.
constexpr std::u32string_view basic =
    U"@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞ\x1BÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?"
    U"¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà";
static_assert(basic.size() == 128);

struct Extension {
  char32_t character;
  unsigned char code;
};
// 3GPP TS 23.038 §6.2.1.1.
constexpr std::array<Extension, 10> extension{{{U'\f', 0x0A},
                                               {U'^', 0x14},
                                               {U'{', 0x28},
                                               {U'}', 0x29},
                                               {U'\\', 0x2F},
                                               {U'[', 0x3C},
                                               {U'~', 0x3D},
                                               {U']', 0x3E},
                                               {U'|', 0x40},
                                               {U'€', 0x65}}};

struct Septets {
  std::size_t count = 0;  // 0: not in the alphabet.
  unsigned char code = 0;
};

Septets septets_of(char32_t character) {
  if (character == escape) return {};
  const auto place = basic.find(character);
  if (place != std::u32string_view::npos) return {1, static_cast<unsigned char>(place)};
  for (const Extension& entry : extension) {
    if (entry.character == character) return {2, entry.code};
  }
  return {};
}

bool is_dropped(char32_t character) {
  return character < 0x20 || (character >= 0x7F && character < 0xA0);
}

bool is_ascii_letter(char32_t character) {
  return (character >= U'A' && character <= U'Z') || (character >= U'a' && character <= U'z');
}

char32_t peek(std::string_view text, std::size_t at) {
  return at < text.size() ? code_point_at(text, at).value : 0;
}

// "26°C" and "26 °C" are both "26 C"; an angle keeps its unit in words.
void append_degree(std::string& out, char32_t next) {
  const bool apart = out.empty() || out.back() == ' ' || out.back() == '\n';
  if (!apart) out.push_back(' ');
  if (!is_ascii_letter(next)) out += "deg";
}

// Alone before Latin letters it is the prefix micro, whichever of the two characters was typed.
bool is_micro(char32_t character, char32_t before, char32_t after) {
  return character == U'\u03BC' && !is_greek_letter(before) && !is_greek_letter(after);
}

// Adds up units into segments; a unit that does not fit starts the next one.
class SegmentCounter {
 public:
  SegmentCounter(std::size_t alone_max, std::size_t joined_max)
      : alone_max_(alone_max), joined_max_(joined_max) {}
  void add(std::size_t units) {
    units_ += units;
    if (in_last_ + units > joined_max_) {
      ++joined_;
      in_last_ = 0;
    }
    in_last_ += units;
  }
  Segments result(Segments::Alphabet alphabet) const {
    return {alphabet, units_, units_ <= alone_max_ ? 1 : joined_};
  }

 private:
  std::size_t alone_max_, joined_max_;
  std::size_t units_ = 0, in_last_ = 0, joined_ = 1;
};

}  // namespace

bool is_gsm7(std::string_view utf8) {
  for (std::size_t at = 0; at < utf8.size();) {
    const CodePoint point = code_point_at(utf8, at);
    if (!point.valid || septets_of(point.value).count == 0) return false;
    at += point.bytes;
  }
  return true;
}

std::string to_gsm7(std::string_view utf8) {
  std::string out;
  bool unknown_before = false;
  char32_t before = 0;
  for (std::size_t at = 0; at < utf8.size();) {
    const CodePoint point = code_point_at(utf8, at);
    const std::string_view bytes = utf8.substr(at, point.bytes);
    at += point.bytes;
    const char32_t next = peek(utf8, at);
    bool unknown = false;
    if (point.valid && septets_of(point.value).count > 0) {
      out += bytes;
    } else if (point.value == U'°') {
      append_degree(out, next);
    } else if (is_micro(point.value, before, next)) {
      out.push_back('u');
    } else if (const auto form = near_gsm7_form(point.value)) {
      out += *form;
      unknown = form->empty() && unknown_before;
    } else if (!is_dropped(point.value)) {
      if (!unknown_before) out.push_back('?');
      unknown = true;
    }
    unknown_before = unknown;
    before = point.value;
  }
  return out;
}

std::size_t gsm7_septets(std::string_view utf8) {
  std::size_t total = 0;
  for (std::size_t at = 0; at < utf8.size();) {
    const CodePoint point = code_point_at(utf8, at);
    total += std::max<std::size_t>(1, septets_of(point.value).count);
    at += point.bytes;
  }
  return total;
}

std::string_view gsm7_beginning(std::string_view utf8, std::size_t septets_max) {
  std::size_t total = 0, at = 0;
  while (at < utf8.size()) {
    const CodePoint point = code_point_at(utf8, at);
    total += std::max<std::size_t>(1, septets_of(point.value).count);
    if (total > septets_max) break;
    at += point.bytes;
  }
  return utf8.substr(0, at);
}

std::optional<std::string> gsm7_codes(std::string_view utf8) {
  std::string codes;
  for (std::size_t at = 0; at < utf8.size();) {
    const CodePoint point = code_point_at(utf8, at);
    const Septets septets = septets_of(point.value);
    if (!point.valid || septets.count == 0) return std::nullopt;
    if (septets.count == 2) codes.push_back(static_cast<char>(escape));
    codes.push_back(static_cast<char>(septets.code));
    at += point.bytes;
  }
  return codes;
}

std::string gsm7_decoded(std::string_view codes) {
  std::string out;
  bool escaped = false;
  for (const char octet : codes) {
    const auto code = static_cast<unsigned char>(static_cast<unsigned char>(octet) & 0x7F);
    if (code == escape && !escaped) {
      escaped = true;
      continue;
    }
    char32_t character = code == escape ? U' ' : basic[code];
    for (const Extension& entry : extension) {
      if (escaped && entry.code == code) character = entry.character;
    }
    append_utf8(out, character);
    escaped = false;
  }
  return out;
}

std::optional<std::string> gsm7_packed(std::string_view utf8) {
  const auto codes = gsm7_codes(utf8);
  if (!codes) return std::nullopt;
  std::string octets;
  unsigned held = 0, bits = 0;
  for (const char septet : *codes) {
    held |= static_cast<unsigned>(static_cast<unsigned char>(septet)) << bits;
    for (bits += 7; bits >= 8; bits -= 8, held >>= 8) {
      octets.push_back(static_cast<char>(held & 0xFFU));
    }
  }
  if (bits > 0) octets.push_back(static_cast<char>(held & 0xFFU));
  return octets;
}

std::optional<Segments> segments(std::string_view utf8) {
  SegmentCounter in_gsm7(segment_septets_max, joined_segment_septets_max);
  SegmentCounter in_ucs2(70,
                         67);  // TS 23.040 §9.2.3.24.1: 140 octets, 6 of them header when joined.
  bool all_gsm7 = true;
  for (std::size_t at = 0; at < utf8.size();) {
    const CodePoint point = code_point_at(utf8, at);
    if (!point.valid) return std::nullopt;
    const std::size_t septets = septets_of(point.value).count;
    all_gsm7 = all_gsm7 && septets > 0;
    in_gsm7.add(septets);
    in_ucs2.add(point.value > 0xFFFF ? 2 : 1);
    at += point.bytes;
  }
  return all_gsm7 ? in_gsm7.result(Segments::Alphabet::gsm7)
                  : in_ucs2.result(Segments::Alphabet::ucs2);
}

}  // namespace ebbwatch
