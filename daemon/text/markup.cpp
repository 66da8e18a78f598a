#include "text/markup.h"

namespace ebbwatch {

void escape_into(std::string& out, std::string_view text) {
  for (const char c : text) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default: {
        const auto byte = static_cast<unsigned char>(c);
        const bool control = (byte < 0x20 && c != '\n' && c != '\t') || byte == 0x7f;
        if (control) {
          out += "\xEF\xBF\xBD";
        } else {
          out += c;
        }
      }
    }
  }
}

std::string escaped(std::string_view text) {
  std::string out;
  escape_into(out, text);
  return out;
}

}  // namespace ebbwatch
