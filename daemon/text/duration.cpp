#include "text/duration.h"

#include <array>
#include <charconv>
#include <cstdint>

namespace ebbwatch {
namespace {

struct Unit {
  const char* name;
  std::int64_t us;
};
// Largest first: duration_text takes the first that divides the span.
constexpr std::array<Unit, 5> units{{{"d", 86'400'000'000},
                                     {"h", 3'600'000'000},
                                     {"min", 60'000'000},
                                     {"s", 1'000'000},
                                     {"ms", 1'000}}};
constexpr double longest_us = 100.0 * 366 * 86'400e6;  // A century: far from overflow anywhere.
constexpr const char* form = "a number and a unit without a space, such as 90s or 2.5min";
constexpr const char* unit_list = "units: ms, s, min, h, d";

Error wrong(std::string_view text, const std::string& why) {
  return {Errc::bad_input, "\"" + std::string(text) + "\" is not a duration: " + why};
}

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

// Digits with at most one point between digits; the length of that prefix, 0 when there is none.
std::size_t number_length(std::string_view text) {
  std::size_t n = 0;
  while (n < text.size() && is_digit(text[n])) ++n;
  if (n == 0 || n + 1 >= text.size() || text[n] != '.' || !is_digit(text[n + 1])) return n;
  ++n;
  while (n < text.size() && is_digit(text[n])) ++n;
  return n;
}

}  // namespace

Result<Span> parse_duration(std::string_view text) {
  const std::size_t length = number_length(text);
  if (length == 0) return wrong(text, std::string("write ") + form + " (" + unit_list + ")");
  double number = 0;
  const auto read =
      std::from_chars(text.data(), text.data() + length, number, std::chars_format::fixed);
  const std::string_view name = text.substr(length);
  if (name.empty()) return wrong(text, std::string("the unit is missing (") + unit_list + ")");
  for (const Unit& unit : units) {
    if (name != unit.name) continue;
    const double us = number * static_cast<double>(unit.us);
    if (read.ec != std::errc{} || us > longest_us) return wrong(text, "at most 36600d");
    return Span{static_cast<std::int64_t>(us + 0.5)};
  }
  return wrong(text, "unknown unit \"" + std::string(name) + "\" (" + unit_list + ")");
}

std::string duration_text(Span span) {
  if (span.us == 0) return "0s";
  for (const Unit& unit : units) {
    if (span.us % unit.us == 0) return std::to_string(span.us / unit.us) + unit.name;
  }
  std::array<char, 32> digits{};
  const auto end = std::to_chars(digits.data(), digits.data() + digits.size(),
                                 static_cast<double>(span.us) / 1e3, std::chars_format::fixed);
  return std::string(digits.data(), end.ptr) + "ms";
}

}  // namespace ebbwatch
