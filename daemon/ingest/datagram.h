// The form of a check-in by datagram (FORMATS: check-in, UDP) and of its answer. Pure; knows
// neither keys nor what came before.
//
//   EBB1 <controller> <seq> <unix-ms or -> <echo or -> <key=value,… or -> <mac>
//
// Printable ASCII, exactly one blank between two parts, nothing after the mac, at most 512 bytes.
// Numbers are decimal without leading zeros. The mac is 32 hexadecimal digits, the first 16 bytes
// of HMAC-SHA256 over everything before the last blank. The names of the pairs are those of a form
// (check_in.h): `power=mains`, `uptime_s=1020`, `temperature_c=25.4`, `watts.heater=150`,
// `readings.NAME=…`; nothing is percent-encoded, so values hold neither blanks nor commas.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "core/result.h"
#include "core/time.h"
#include "crypto/mac_state.h"
#include "ingest/check_in.h"

namespace ebbwatch {

/// Views into the bytes that were parsed.
struct Datagram {
  static constexpr std::size_t mac_bytes = 16;

  std::string_view controller;
  std::uint64_t seq = 0;            ///< At most 2^53 - 1.
  std::optional<WallTime> sent_at;  ///< Whole milliseconds, before the year 10000.
  std::string_view echo;            ///< Empty: none; else 1 to 32 of A-Z a-z 0-9 - _.
  std::string_view pairs;           ///< Not yet looked at; empty: none.
  std::string_view covered;         ///< What the mac is about.
  std::array<std::uint8_t, mac_bytes> mac{};

  /// Whether the mac was made with this key. Takes the same time for early and late differences.
  bool is_made_with(const MacState& key) const;
};

/// Empty when the bytes do not have the form. Allocates nothing.
std::optional<Datagram> parse_datagram(std::string_view bytes);

/// What it says, with the pairs read. Errors as in check_in.h.
Result<ParsedCheckIn> check_in_of(const Datagram& datagram);

/// "EBB1 ok <echo> <mac>", the mac over "EBB1 ok <echo>".
std::string datagram_answer(std::string_view echo, const MacState& key);
/// The length of an answer with an echo of so many characters.
constexpr std::size_t datagram_answer_bytes(std::size_t echo_chars) {
  return 8 + echo_chars + 1 + 2 * Datagram::mac_bytes;
}

}  // namespace ebbwatch
