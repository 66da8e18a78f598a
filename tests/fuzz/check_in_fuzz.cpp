// The fields of a check-in in a body or a query (ingest/check_in.h; FORMATS: check-in, version 1).
// First line: Content-Type. Rest: the body, which is also read as JSON and as a form.
#include "ingest/check_in.h"

#include "core/limits.h"
#include "fuzz.h"
#include "text/identifier.h"

using namespace ebbwatch;

namespace {

void look_at_fields(const ParsedCheckIn& it) {
  constexpr double day_s = 86'400;
  MUST(!it.controller || is_identifier(*it.controller));
  MUST(!it.seq || *it.seq <= (std::uint64_t{1} << 53) - 1);  // RFC 8259 §6: exact up to here.
  MUST(!it.uptime_s || (*it.uptime_s >= 0 && *it.uptime_s <= 4e9));
  MUST(!it.battery_pct || (*it.battery_pct >= 0 && *it.battery_pct <= 100));
  for (const auto& span : {it.next_in, it.leaving}) {
    MUST(!span || (*span > Span{} && span->seconds() <= 31 * day_s));
  }
  MUST(it.readings.size() <= limits::readings_max);
  for (const Reading& reading : it.readings) {
    MUST(!reading.name.empty() && reading.name.size() <= 80 && is_utf8(reading.name));
    MUST(reading.part.size() <= 80 && is_utf8(reading.part));
  }
}

/// What is kept of the readings must be read again as the same ones.
void keep_and_read_again(const ParsedCheckIn& it) {
  const CheckInRow row = to_row(it, "lagoon-main", {});
  MUST(is_utf8(row.readings_json));
  const std::size_t wanted = it.readings.size() + (it.battery_pct ? 1 : 0);
  if (wanted == 0) {
    MUST(row.readings_json.empty());
    return;
  }
  for (const Reading& reading : it.readings) {
    if (reading.name == "battery_pct" || wanted > limits::readings_max) return;
  }
  const auto again = parse_check_in_json("{\"readings\":" + row.readings_json + "}");
  MUST(again);
  MUST(again.value().readings.size() == wanted);
  MUST(again.value().readings.empty() ||
       to_row(again.value(), "lagoon-main", {}).readings_json == row.readings_json);
}

void look_at(const Result<ParsedCheckIn>& parsed) {
  if (!parsed) {
    MUST(parsed.error().code == Errc::bad_input);
    MUST(fuzz::is_sentence(parsed.error().text));
    return;
  }
  look_at_fields(parsed.value());
  keep_and_read_again(parsed.value());
  MUST(to_event(parsed.value(), ControllerIndex{3}).controller == ControllerIndex{3});
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  fuzz::Input in(data, size);
  const auto content_type = in.line();
  look_at(parse_check_in(content_type, in.rest()));
  look_at(parse_check_in_json(in.rest()));
  look_at(parse_check_in_form(in.rest()));
  return 0;
}
