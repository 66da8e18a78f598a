#include "notifiers/gsm_modem/modem_words.h"

#include "notifiers/answer_text.h"
#include "notifiers/gsm_modem/modem_errors.h"
#include "text/utf8.h"

namespace ebbwatch {

std::string error_words(const ModemLine& line) {
  if (line.kind == ModemLine::Kind::cms_error && line.number >= 0)
    return cms_error_text(line.number);
  if (line.kind == ModemLine::Kind::cme_error && line.number >= 0)
    return cme_error_text(line.number);
  return "the modem said " + answer_text(line.text);
}

// TS 27.007 §7.2; 6 and 7 are registered for texts only. 4 is "unknown", worth a try.
bool is_registered(int state) {
  return state == 1 || (state >= 4 && state <= 7);
}

std::string network_words(int state) {
  switch (state) {
    case 1:
    case 6:
      return "registered with the home network";
    case 5:
    case 7:
      return "registered with a foreign network";
    case 2:
      return "not registered: searching for a network";
    case 3:
      return "not registered: the network refuses this SIM card";
    case 4:
      return "registration not known";
    default:
      return "not registered with any network";
  }
}

std::string signal_words(int level) {
  if (level < 0 || level > 31) return "signal not known";
  return "signal " + std::to_string(level) + " of 31 (" + std::to_string(2 * level - 113) + " dBm)";
}

// One "?" for each character that is not in ASCII.
std::string plain_letters(std::string_view text) {
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const CodePoint point = code_point_at(text, at);
    at += point.bytes;
    const bool plain = (point.value >= U' ' && point.value <= U'~') || point.value == U'\n';
    out += plain ? static_cast<char>(point.value) : '?';
  }
  return out;
}

}  // namespace ebbwatch
