#include "notifiers/answer_text.h"

#include "core/limits.h"
#include "text/utf8.h"

namespace ebbwatch {

std::string answer_text(std::string_view said) {
  std::string out;
  bool space_due = false;
  for (std::size_t at = 0; at < said.size();) {
    const CodePoint point = code_point_at(said, at);
    const std::string_view bytes = point.valid ? said.substr(at, point.bytes) : "?";
    at += point.bytes;
    if (point.value <= U' ' || (point.value >= 0x7F && point.value < 0xA0)) {
      space_due = !out.empty();
      continue;
    }
    if (out.size() + bytes.size() + (space_due ? 1 : 0) > limits::answer_text_bytes_max) break;
    if (space_due) out.push_back(' ');
    space_due = false;
    out += bytes;
  }
  return out;
}

std::string without_secret(std::string_view said, std::string_view secret) {
  if (secret.empty()) return std::string(said);
  std::string out;
  for (std::size_t at = 0;;) {
    const std::size_t found = said.find(secret, at);
    out += said.substr(at, found - at);
    if (found == std::string_view::npos) break;
    out += "(secret)";
    at = found + secret.size();
  }
  return out;
}

}  // namespace ebbwatch
