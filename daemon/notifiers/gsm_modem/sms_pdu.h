// Short messages as a modem in PDU mode takes and gives them: SMS-SUBMIT out, SMS-DELIVER in
// (3GPP TS 23.040 §9.2.2, as hexadecimal text of TS 27.005 §3.1). Pure.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "core/result.h"
#include "core/time.h"

namespace ebbwatch {

/// One piece of a text, ready for AT+CMGS.
struct SubmitPdu {
  std::string hex;         ///< With the empty SMSC field in front: the SIM's own centre is used.
  std::size_t octets = 0;  ///< What AT+CMGS wants to hear: without the SMSC field.
};

inline constexpr std::size_t submit_parts_max = 4;  ///< Longer texts are cut.

/// `text` in the GSM 7-bit alphabet when all of it is there, else in UCS-2; in several joined
/// pieces (8-bit reference, TS 23.040 §9.2.3.24.1) when one does not hold it. No extension
/// character and no surrogate pair is split; what is not UTF-8 becomes U+FFFD.
/// @param phone "+" and digits. @param reference the same at every attempt of one notice, so that a
/// telephone that got some pieces twice puts them together all the same.
std::vector<SubmitPdu> submit_pdus(std::string_view phone, std::string_view text,
                                   std::uint8_t reference);

/// A text that came in.
struct ReceivedText {
  std::string from;  ///< "+15550100", "12345" or, from a name, that name.
  std::string text;  ///< UTF-8. Of a joined text: this piece alone.
  WallTime sent_at;  ///< The centre's time stamp; 0 when it makes no sense.
  std::uint8_t part = 1, parts = 1;
};

/// Errors: bad_input for what is no SMS-DELIVER: another kind, cut short, 8-bit data, compressed.
Result<ReceivedText> read_deliver(std::string_view hex);

/// UTF-16 big-endian as hexadecimal text, as AT+CSCS="UCS2" wants texts and numbers; and back.
std::string ucs2_hex(std::string_view utf8);
Result<std::string> from_ucs2_hex(std::string_view hex);

}  // namespace ebbwatch
