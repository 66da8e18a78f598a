// Fitting words into lines and names into a few columns, for people. Pure; UTF-8 in, UTF-8 out.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace ebbwatch {

inline constexpr std::size_t notice_columns_max = 78;  ///< RFC 5322 §2.1.1 recommends it for mail.

/// How much room a text takes: columns on a screen, or septets of a short text. Of two texts put
/// together it is the sum.
using Measure = std::size_t (*)(std::string_view text);

/// Columns on a screen: 0 for combining marks, 2 for wide East Asian characters and emoji, else 1.
std::size_t columns(std::string_view text);

/// One line that is safe in a header: control characters become spaces, runs of spaces one, the
/// ends are trimmed, and bytes that are not UTF-8 become U+FFFD.
std::string one_line(std::string_view text);

/// one_line() in the phone's alphabet.
std::string gsm7_line(std::string_view text);

/// `paragraph` broken at spaces into lines of at most notice_columns_max columns, each with a LF.
/// The first line starts with `first_indent`, the others with `indent`. A word that is wider than a
/// line is broken where the line ends. An empty paragraph gives an empty text.
std::string wrap(std::string_view paragraph, std::string_view first_indent = "",
                 std::string_view indent = "");

/// As wrap() for several lines of the owner's own words: their line ends and empty lines stay.
std::string wrap_lines(std::string_view text, std::string_view indent);

/// `name` in at most `room` of `measure`: whole when it fits, else with its middle replaced by
/// "...", so that a number at its end ("Rack 12") stays. Never cuts within a number or a time. Last
/// resort:
/// "..." alone, and empty when not even that fits.
std::string shorten(std::string_view name, std::size_t room, Measure measure);

/// The beginning of `text` up to the end of a word, with "..." after it, in at most `room`; whole
/// when it fits. Never ends within a number, also not within one written in groups ("+1 555 0100").
/// Empty when not even one word fits.
std::string cut_after_word(std::string_view text, std::size_t room, Measure measure);

}  // namespace ebbwatch
