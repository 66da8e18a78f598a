// A check-in as it arrives in a body or an address (FORMATS: check-in, version 1), before anybody
// asks who sent it. Pure: text in, one struct out, the same for every transport.
//
// JSON (RFC 8259): an object; member names unique, at most 32 levels, no text after it.
// Form and query (application/x-www-form-urlencoded): the same fields. A reading is given by its
// own name (`temperature_c=25.1`), as `readings.NAME=…` for other names, as `watts.NAME=…` for
// watts, or all together as JSON in `readings=…`. In JSON, too, the known readings may stand beside
// the other fields. Empty: a check-in without fields.
//
// Fields that version 1 does not know are ignored, so that a newer controller still counts as
// alive; unknown readings are kept. Readings are not judged: a broken probe that says -127 must not
// turn its controller into a silent one. Every error says which field, what was found, what is
// allowed and what to change, in one or two sentences, and has Errc::bad_input.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "core/event.h"
#include "core/ids.h"
#include "core/result.h"
#include "core/time.h"
#include "ports/store.h"

namespace ebbwatch {

/// One measured value. Known names hold numbers; unknown ones also true, false or text of at most
/// 200 bytes.
struct Reading {
  std::string name;  ///< "temperature_c", "watts", or any other; 1 to 80 bytes of UTF-8.
  std::string part;  ///< Which one, where a name has several ("return-pump" of watts); else empty.
  std::variant<double, bool, std::string> value;
};

struct ParsedCheckIn {
  std::optional<std::string> controller;  ///< An identifier; the credential may imply it.
  std::optional<std::string> key;  ///< In JSON, for transports without another proof; never kept.
  std::optional<std::uint64_t> seq;       ///< 0 to 2^53 - 1.
  std::optional<double> uptime_s;         ///< 0 to 4e9.
  std::optional<WallTime> sent_at;        ///< The controller's clock; never trusted for contact.
  Power power = Power::unknown;
  std::optional<double> battery_pct;  ///< 0 to 100.
  std::optional<Span> next_in;        ///< > 0, at most 31 days.
  std::optional<Span> leaving;        ///< > 0, at most 31 days.
  bool buffered = false;
  std::vector<Reading> readings;  ///< At most limits::readings_max, in the order sent.
};

Result<ParsedCheckIn> parse_check_in_json(std::string_view body);
/// A form body, or the part of an address after `?`.
Result<ParsedCheckIn> parse_check_in_form(std::string_view form);
/// Chooses by Content-Type. A body that begins with `{` is read as JSON also when the sender called
/// it a form or nothing at all, as small HTTP clients do; no form begins so.
Result<ParsedCheckIn> parse_check_in(std::string_view content_type, std::string_view body);

CheckIn to_event(const ParsedCheckIn& parsed, ControllerIndex controller);
/// The row for the history. `readings_json` holds the readings as they would stand in a JSON body,
/// and battery_pct beside them; empty when there are none.
CheckInRow to_row(const ParsedCheckIn& parsed, const std::string& controller, WallTime at);

}  // namespace ebbwatch
