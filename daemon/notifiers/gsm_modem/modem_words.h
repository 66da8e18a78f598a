// What a modem's numbers mean to people (3GPP TS 27.007). Pure.
#pragma once

#include <string>
#include <string_view>

#include "notifiers/gsm_modem/modem_lines.h"

namespace ebbwatch {

/// Of a final line that is not OK.
std::string error_words(const ModemLine& line);
/// The state of +CREG (§7.2): registered, for texts only, or not known, which is worth a try.
bool is_registered(int state);
std::string network_words(int state);
/// The level of +CSQ (§8.5) with its power: "signal 20 of 31 (-73 dBm)".
std::string signal_words(int level);
/// One "?" for each character that is not in ASCII.
std::string plain_letters(std::string_view text);

}  // namespace ebbwatch
