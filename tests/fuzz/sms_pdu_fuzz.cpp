// Texts as a modem in PDU mode takes and gives them (notifiers/gsm_modem/sms_pdu.h; 3GPP TS 23.040,
// 23.038). First line: hexadecimal, as from a modem; the rest is a text to send, whose pieces are
// turned into incoming ones here and must give the text again.
#include "notifiers/gsm_modem/sms_pdu.h"

#include "fuzz.h"

using namespace ebbwatch;

namespace {

constexpr std::string_view phone = "+15550100";
// Offsets of TS 23.040 §9.2.2.2 (SMS-SUBMIT) with this number, in hexadecimal digits.
constexpr std::size_t first_octet = 2, number = 6, after_number = number + 4 + 8;
constexpr std::size_t coding = after_number + 2, length = coding + 4;

/// §9.2.2.1 (SMS-DELIVER) with the same number, coding and user data, of 2026-07-26 12:00 UTC.
std::string deliver_of(const std::string& submit) {
  const bool has_header = submit[first_octet] == '5';
  return "00" + std::string(has_header ? "44" : "04") +
         submit.substr(number, after_number - number) + "00" + submit.substr(coding, 2) +
         "62706221000000" + submit.substr(length);
}

std::string as_utf8(std::string_view text) {
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const CodePoint point = code_point_at(text, at);
    append_utf8(out, point.value);
    at += point.bytes;
  }
  return out;
}

void there_and_back(std::string_view text) {
  const auto parts = submit_pdus(phone, text, 7);
  MUST(parts.size() <= submit_parts_max);
  std::string again;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const auto& part = parts[i];
    MUST(part.hex.size() == 2 * (part.octets + 1));
    MUST(part.hex.size() <= length + 2 + 2 * 140);  // §9.2.3.24: at most 140 octets.
    const auto read = read_deliver(deliver_of(part.hex));
    MUST(read && read.value().from == phone && is_utf8(read.value().text));
    MUST(read.value().parts == parts.size() && read.value().part == i + 1);
    MUST(read.value().sent_at.us == 1'785'067'200'000'000);
    again += read.value().text;
  }
  const std::string wanted = as_utf8(text);
  MUST(parts.size() < submit_parts_max ? again == wanted : wanted.starts_with(again));
}

void look_at(std::string_view hex) {
  const auto read = read_deliver(hex);
  if (!read) {
    MUST(read.error().code == Errc::bad_input && fuzz::is_sentence(read.error().text));
  } else {
    MUST(is_utf8(read.value().text) && is_utf8(read.value().from));
    MUST(read.value().text.size() <= 3 * 160);
  }
  const auto wide = from_ucs2_hex(hex);
  if (wide) MUST(is_utf8(wide.value()));
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  fuzz::Input in(data, size);
  look_at(in.line());
  there_and_back(in.rest());
  const auto back = from_ucs2_hex(ucs2_hex(in.rest()));
  MUST(back && back.value() == as_utf8(in.rest()));
  return 0;
}
