#include "ingest/check_in_fields.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "core/invariant.h"
#include "core/limits.h"
#include "text/identifier.h"
#include "text/rfc3339.h"
#include "text/utf8.h"

namespace ebbwatch {
namespace {

constexpr double seconds_max = 31 * 86'400.0;
constexpr double uptime_s_max = 4e9;             // About 127 years.
constexpr double exact_max = 9007199254740991;   // 2^53 - 1: beyond it JSON numbers are not exact.
constexpr double unix_ms_max = 253402300799999;  // The end of year 9999.
constexpr double reading_max = 1e9;
constexpr std::size_t reading_text_bytes_max = 200;

Error wrong(std::string_view field, const FieldValue& found, std::string_view allowed,
            std::string_view change) {
  return {Errc::bad_input, std::string(field) + ": found " + found.shown + "; allowed is " +
                               std::string(allowed) + ". " + std::string(change)};
}

/// The value as a number, also from the text of a form.
std::optional<double> number_of(const FieldValue& value) {
  if (value.kind == FieldValue::Kind::number) {
    if (!std::isfinite(value.number)) return std::nullopt;
    return value.number;
  }
  if (!value.from_form || value.kind != FieldValue::Kind::text) return std::nullopt;
  double out = 0;
  const char* end = value.text.data() + value.text.size();
  const auto [stop, error] = std::from_chars(value.text.data(), end, out);
  if (error != std::errc{} || stop != end || !std::isfinite(out)) return std::nullopt;
  return out;
}

struct NumberRule {
  std::string_view name;
  double low, high;
  bool low_itself;  ///< Whether the lower end is allowed.
  bool whole;
  std::string_view allowed, change;
  void (*set)(ParsedCheckIn&, double);
};

constexpr std::array number_rules = {
    NumberRule{"seq", 0, exact_max, true, true, "a whole number from 0 to 9007199254740991",
               "Count check-ins up from 0 since the controller started, or leave seq out.",
               [](ParsedCheckIn& out, double n) { out.seq = static_cast<std::uint64_t>(n); }},
    NumberRule{"uptime_s", 0, uptime_s_max, true, false, "a number from 0 to 4000000000",
               "Send the seconds since the controller started, or leave uptime_s out.",
               [](ParsedCheckIn& out, double n) { out.uptime_s = n; }},
    NumberRule{"battery_pct", 0, 100, true, false, "a number from 0 to 100",
               "Send the charge in per cent, or leave battery_pct out.",
               [](ParsedCheckIn& out, double n) { out.battery_pct = n; }},
    NumberRule{"next_in_s", 0, seconds_max, false, false,
               "a number above 0 and at most 2678400 (31 days)",
               "Send the seconds until the next check-in, or leave next_in_s out.",
               [](ParsedCheckIn& out, double n) { out.next_in = Span::of_seconds(n); }},
    NumberRule{"leaving", 0, seconds_max, false, false,
               "a number above 0 and at most 2678400 (31 days)",
               "Send the seconds of the planned stop, or leave leaving out.",
               [](ParsedCheckIn& out, double n) { out.leaving = Span::of_seconds(n); }}};

Result<void> set_number(ParsedCheckIn& out, const NumberRule& rule, const FieldValue& value) {
  const auto number = number_of(value);
  const bool good = number && *number <= rule.high &&
                    (rule.low_itself ? *number >= rule.low : *number > rule.low) &&
                    (!rule.whole || *number == std::floor(*number));
  if (!good) return wrong(rule.name, value, rule.allowed, rule.change);
  // A span below half a microsecond would become none at all.
  rule.set(out, rule.low_itself ? *number : std::max(*number, 1e-6));
  return {};
}

Result<void> set_controller(ParsedCheckIn& out, const FieldValue& value) {
  if (value.kind != FieldValue::Kind::text || !is_identifier(value.text)) {
    return wrong("controller", value,
                 "an identifier of 1 to 63 of a-z, 0-9 and -, beginning with a letter",
                 "Send the controller's id from the watcher's configuration, or leave it out.");
  }
  out.controller = value.text;
  return {};
}

Result<void> set_power(ParsedCheckIn& out, const FieldValue& value) {
  const bool is_text = value.kind == FieldValue::Kind::text;
  if (is_text && value.text == "mains") {
    out.power = Power::mains;
  } else if (is_text && value.text == "battery") {
    out.power = Power::battery;
  } else {
    return wrong("power", value, "\"mains\" or \"battery\"",
                 "Send what feeds the controller now, or leave power out.");
  }
  return {};
}

Result<void> set_buffered(ParsedCheckIn& out, const FieldValue& value) {
  const bool form = value.from_form;
  if (value.kind == FieldValue::Kind::truth) {
    out.buffered = value.truth;
  } else if (form && (value.text == "true" || value.text == "1")) {
    out.buffered = true;
  } else if (form && (value.text == "false" || value.text == "0")) {
    out.buffered = false;
  } else {
    return wrong("buffered", value, "true or false",
                 "Send true for a check-in from a buffer, or leave buffered out.");
  }
  return {};
}

Result<void> set_sent_at(ParsedCheckIn& out, const FieldValue& value) {
  const auto number = number_of(value);
  if (number && *number >= 0 && *number <= unix_ms_max) {
    out.sent_at = WallTime{} + Span::of_ms(static_cast<std::int64_t>(*number));
    return {};
  }
  if (!number && value.kind == FieldValue::Kind::text) out.sent_at = from_rfc3339(value.text);
  if (out.sent_at) return {};
  return wrong("sent_at", value,
               "an RFC 3339 time (2026-02-22T19:22:22Z) or whole Unix milliseconds",
               value.from_form ? "Send the controller's clock with any + written as %2B, or leave "
                                 "sent_at out."
                               : "Send the controller's clock, or leave sent_at out.");
}

struct OtherRule {
  std::string_view name;
  Result<void> (*set)(ParsedCheckIn&, const FieldValue&);
};
constexpr std::array other_rules = {
    OtherRule{"controller", set_controller}, OtherRule{"power", set_power},
    OtherRule{"buffered", set_buffered}, OtherRule{"sent_at", set_sent_at}};

constexpr std::array<std::string_view, 7> known_readings = {
    "temperature_c", "room_temperature_c", "ph", "salinity_ppt", "orp_mv", "oxygen_mg_l", "watts"};

bool is_reading_name(std::string_view name) {
  return !name.empty() && name.size() <= 80 && std::none_of(name.begin(), name.end(), [](char c) {
    return static_cast<unsigned char>(c) < ' ' || c == '\x7f';
  });
}

Result<void> check_place(const ParsedCheckIn& out, std::string_view name, std::string_view part,
                         const std::string& path) {
  for (const auto& there : out.readings) {
    if (there.name != name || (there.part != part && !there.part.empty() && !part.empty()))
      continue;
    return Error{Errc::bad_input, path + ": given twice; allowed is once. Send it only once."};
  }
  if (out.readings.size() == limits::readings_max) {
    return Error{Errc::bad_input, "readings: found more than " +
                                      std::to_string(limits::readings_max) +
                                      " values; allowed are " +
                                      std::to_string(limits::readings_max) + ". Send fewer."};
  }
  return {};
}

}  // namespace

bool is_field(std::string_view name) {
  const auto is_it = [&](const auto& rule) { return rule.name == name; };
  return std::any_of(number_rules.begin(), number_rules.end(), is_it) ||
         std::any_of(other_rules.begin(), other_rules.end(), is_it);
}

Result<void> set_field(ParsedCheckIn& out, std::string_view name, const FieldValue& value) {
  for (const auto& rule : number_rules) {
    if (rule.name == name) return set_number(out, rule, value);
  }
  for (const auto& rule : other_rules) {
    if (rule.name == name) return rule.set(out, value);
  }
  INVARIANT(false && "set_field is asked for known fields only");
}

bool is_known_reading(std::string_view name) {
  return std::find(known_readings.begin(), known_readings.end(), name) != known_readings.end();
}

Result<void> add_reading(ParsedCheckIn& out, std::string_view name, std::string_view part,
                         const FieldValue& value) {
  const bool named = is_reading_name(name) && (part.empty() || is_reading_name(part));
  if (!named) {
    return Error{Errc::bad_input, "readings: found the name " +
                                      shown_text(part.empty() ? name : part) +
                                      "; allowed are 1 to 80 bytes without control characters. "
                                      "Rename the reading."};
  }
  std::string path = "readings." + std::string(name);
  if (!part.empty()) path += "." + std::string(part);
  if (auto placed = check_place(out, name, part, path); !placed) return placed;
  if (name == "watts" && part.empty()) {
    return wrong(path, value, "an object of name and number, {\"return-pump\": 35}",
                 "Name each consumer, or leave watts out.");
  }
  if (name != "watts" && !part.empty() && is_known_reading(name)) {
    return Error{Errc::bad_input, "readings." + std::string(name) +
                                      ": found several named values; allowed is a number. Send one "
                                      "number, and further probes under names of your own."};
  }
  const auto number = number_of(value);
  if (number && std::abs(*number) <= reading_max) {
    out.readings.push_back({std::string(name), std::string(part), *number});
    return {};
  }
  const bool must_be_number =
      is_known_reading(name) || number || value.kind == FieldValue::Kind::number;
  if (must_be_number || value.kind == FieldValue::Kind::other ||
      value.text.size() > reading_text_bytes_max) {
    return wrong(path, value,
                 must_be_number ? "a number from -1000000000 to 1000000000"
                                : "a number, true, false or text of at most 200 bytes",
                 "Send the measured value, or leave it out when there is none.");
  }
  if (value.kind == FieldValue::Kind::truth) {
    out.readings.push_back({std::string(name), std::string(part), value.truth});
  } else {
    out.readings.push_back({std::string(name), std::string(part), value.text});
  }
  return {};
}

FieldValue form_value(std::string_view text) {
  FieldValue out;
  out.kind = FieldValue::Kind::text;
  out.text = text;
  out.from_form = true;
  out.shown = shown_text(text);
  return out;
}

std::string shown_text(std::string_view text) {
  constexpr std::size_t shown_bytes_max = 40;
  std::string out = "\"";
  std::size_t at = 0;
  while (at < text.size()) {
    const CodePoint point = code_point_at(text, at);
    if (at + point.bytes > shown_bytes_max) break;
    const bool plain = point.valid && point.value >= U' ' && point.value != U'\x7f';
    out += plain ? text.substr(at, point.bytes) : "?";
    at += point.bytes;
  }
  return out + (at < text.size() ? "…\"" : "\"");
}

}  // namespace ebbwatch
