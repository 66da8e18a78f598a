#include "ingest/check_in.h"

#include <boost/json/object.hpp>
#include <boost/json/serialize.hpp>

#include "ingest/check_in_fields.h"

namespace ebbwatch {
namespace {

std::string media_type(std::string_view content_type) {
  std::string out;
  for (const char c : content_type.substr(0, content_type.find(';'))) {
    if (c == ' ' || c == '\t') continue;
    out += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  }
  return out;
}

bool begins_like_an_object(std::string_view body) {
  const auto first = body.find_first_not_of(" \t\r\n");
  return first != std::string_view::npos && body[first] == '{';
}

boost::json::value json_of(const Reading& reading) {
  if (const auto* number = std::get_if<double>(&reading.value)) return *number;
  if (const auto* truth = std::get_if<bool>(&reading.value)) return *truth;
  return boost::json::value(std::get<std::string>(reading.value));
}

std::string readings_json(const ParsedCheckIn& parsed) {
  boost::json::object out;
  if (parsed.battery_pct) out["battery_pct"] = *parsed.battery_pct;
  for (const auto& reading : parsed.readings) {
    if (reading.part.empty()) {
      out[reading.name] = json_of(reading);
    } else {
      auto& several = out[reading.name];
      if (!several.is_object()) several.emplace_object();
      several.get_object()[reading.part] = json_of(reading);
    }
  }
  return out.empty() ? std::string() : boost::json::serialize(out);
}

}  // namespace

Result<ParsedCheckIn> parse_check_in(std::string_view content_type, std::string_view body) {
  if (body.empty()) return ParsedCheckIn{};
  const std::string type = media_type(content_type);
  if (type == "application/json" || begins_like_an_object(body)) return parse_check_in_json(body);
  if (type == "application/x-www-form-urlencoded") return parse_check_in_form(body);
  return Error{Errc::bad_input,
               "Content-Type: found " + shown_text(content_type) +
                   "; allowed are application/json and application/x-www-form-urlencoded. Send one "
                   "of them, or an empty body."};
}

CheckIn to_event(const ParsedCheckIn& parsed, ControllerIndex controller) {
  CheckIn out;
  out.controller = controller;
  out.seq = parsed.seq;
  out.uptime_s = parsed.uptime_s;
  out.power = parsed.power;
  out.next_in = parsed.next_in;
  out.leaving = parsed.leaving;
  out.buffered = parsed.buffered;
  return out;
}

CheckInRow to_row(const ParsedCheckIn& parsed, const std::string& controller, WallTime at) {
  CheckInRow row;
  row.at = at;
  row.controller = controller;
  row.seq = parsed.seq;
  row.uptime_s = parsed.uptime_s;
  if (parsed.power == Power::mains) row.power = "mains";
  if (parsed.power == Power::battery) row.power = "battery";
  row.buffered = parsed.buffered;
  row.readings_json = readings_json(parsed);
  return row;
}

}  // namespace ebbwatch
