// Form bodies and queries as the board, check-ins and gateways get them (text/form.h). The encoder
// is written here anew, from the WHATWG URL standard §5.2 (from memory): plus for a blank, percent
// for all but letters, digits and "*-._".
#include "text/form.h"

#include "fuzz.h"

using namespace ebbwatch;

namespace {

std::string encoded(std::string_view text) {
  std::string out;
  for (const char c : text) {
    const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                       std::string_view("*-._").find(c) != std::string_view::npos;
    char code[4] = {c, 0, 0, 0};
    if (!plain) std::snprintf(code, sizeof code, "%%%02X", static_cast<unsigned char>(c));
    out += c == ' ' ? "+" : code;
  }
  return out;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text = fuzz::Input(data, size).rest();
  MUST(form_decode(encoded(text)) == text);
  const auto fields = parse_form(text);
  if (!fields) {
    MUST(text.find('%') != text.npos);  // Nothing else can be wrong with a form.
    return 0;
  }
  std::string again;
  std::size_t bytes = 0;
  for (const auto& [name, value] : *fields) {
    again += '&' + encoded(name) + '=' + encoded(value);
    bytes += name.size() + value.size();
  }
  MUST(bytes <= text.size());
  MUST(parse_form(again) == fields);
  if (!fields->empty()) MUST(form_value(*fields, fields->front().first) == fields->front().second);
  return 0;
}
