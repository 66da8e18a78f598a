// The short message alphabet of mobile networks: the GSM 7-bit default alphabet with its extension
// table (3GPP TS 23.038 §6.2.1), and how many segments a text takes (3GPP TS 23.040 §9.2.3.24.1).
// One character outside of it makes a network send the whole text in UCS-2, where a segment holds
// only 70 units; so every short text goes through to_gsm7() first.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace ebbwatch {

inline constexpr std::size_t segment_septets_max = 160;  ///< Alone; 153 when joined.
inline constexpr std::size_t joined_segment_septets_max = 153;

/// True when `utf8` is UTF-8 and every character is in the alphabet or its extension.
bool is_gsm7(std::string_view utf8);

/// `utf8` with only characters of the alphabet, still as UTF-8. Characters outside of it take their
/// nearest form: "26°C" becomes "26 C", curly quotes and dashes straight ones, "á" an "a"; Cyrillic
/// becomes Latin letters, Greek the capitals that the alphabet has; combining marks are dropped;
/// tabs and special spaces become a space. A run of characters without such a form becomes one "?".
/// Control characters other than LF and CR are dropped. A text of the alphabet comes back
/// unchanged.
std::string to_gsm7(std::string_view utf8);

/// Septets that the text takes: 1 a character, 2 for the extension (^ { } \ [ ~ ] | € and form
/// feed). A character outside of the alphabet counts as the 1 of the "?" that networks put in its
/// place.
std::size_t gsm7_septets(std::string_view utf8);

/// The longest beginning of `utf8` that takes at most `septets_max` and ends between characters.
std::string_view gsm7_beginning(std::string_view utf8, std::size_t septets_max);

/// The septets packed into octets, first character in the low bits (TS 23.038 §6.1.2.1.1).
/// Empty optional when a character is outside of the alphabet.
std::optional<std::string> gsm7_packed(std::string_view utf8);

/// One octet a septet, extension characters as escape and code; empty optional as above.
std::optional<std::string> gsm7_codes(std::string_view utf8);
/// The text of such octets, as UTF-8. As TS 23.038 §6.2.1.1 asks of receivers, an escape before a
/// code without an extension gives the basic character of that code; the high bit is ignored.
std::string gsm7_decoded(std::string_view codes);

/// How a network carries a text as it is, without transliteration.
struct Segments {
  enum class Alphabet : std::uint8_t { gsm7, ucs2 };
  Alphabet alphabet = Alphabet::gsm7;
  std::size_t units = 0;  ///< Septets, or UTF-16 code units.
  std::size_t count = 1;  ///< An empty text is one segment.
};
/// Neither an extension character nor a surrogate pair is split between segments. Empty optional
/// when the text is not UTF-8.
std::optional<Segments> segments(std::string_view utf8);

}  // namespace ebbwatch
