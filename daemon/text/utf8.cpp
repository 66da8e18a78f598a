#include "text/utf8.h"

namespace ebbwatch {
namespace {

constexpr CodePoint malformed{0xFFFD, 1, false};

struct Lead {
  std::size_t bytes;
  char32_t bits;
  char32_t smallest;  // Below it the form would be overlong.
};

Lead read_lead(unsigned char byte) {
  if (byte < 0x80) return {1, byte, 0};
  if (byte >= 0xC2 && byte < 0xE0) return {2, byte & 0x1FU, 0x80};
  if (byte >= 0xE0 && byte < 0xF0) return {3, byte & 0x0FU, 0x800};
  if (byte >= 0xF0 && byte < 0xF5) return {4, byte & 0x07U, 0x10000};
  return {0, 0, 0};
}

}  // namespace

CodePoint code_point_at(std::string_view text, std::size_t at) {
  const Lead lead = read_lead(static_cast<unsigned char>(text[at]));
  if (lead.bytes == 0 || text.size() - at < lead.bytes) return malformed;
  char32_t value = lead.bits;
  for (std::size_t i = 1; i < lead.bytes; ++i) {
    const auto byte = static_cast<unsigned char>(text[at + i]);
    if ((byte & 0xC0U) != 0x80U) return malformed;
    value = value << 6 | (byte & 0x3FU);
  }
  const bool surrogate = value >= 0xD800 && value <= 0xDFFF;
  if (value < lead.smallest || value > 0x10FFFF || surrogate) return malformed;
  return {value, lead.bytes, true};
}

bool is_utf8(std::string_view text) {
  for (std::size_t at = 0; at < text.size();) {
    const CodePoint point = code_point_at(text, at);
    if (!point.valid) return false;
    at += point.bytes;
  }
  return true;
}

void append_utf8(std::string& text, char32_t code_point) {
  const auto byte = [&](char32_t value) { text.push_back(static_cast<char>(value)); };
  if (code_point < 0x80) {
    byte(code_point);
  } else if (code_point < 0x800) {
    byte(0xC0 | code_point >> 6);
    byte(0x80 | (code_point & 0x3F));
  } else if (code_point < 0x10000) {
    byte(0xE0 | code_point >> 12);
    byte(0x80 | (code_point >> 6 & 0x3F));
    byte(0x80 | (code_point & 0x3F));
  } else {
    byte(0xF0 | code_point >> 18);
    byte(0x80 | (code_point >> 12 & 0x3F));
    byte(0x80 | (code_point >> 6 & 0x3F));
    byte(0x80 | (code_point & 0x3F));
  }
}

}  // namespace ebbwatch
