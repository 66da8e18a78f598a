#include "board/calendar_feed.h"

#include "text/rfc3339.h"
#include "text/utf8.h"

namespace ebbwatch {
namespace {

constexpr std::size_t line_octets = 75;

/// "20261125T140200Z"
std::string stamp(WallTime time) {
  std::string out;
  for (const char c : to_rfc3339(time)) {
    if (c == '.') break;
    if (c != '-' && c != ':') out += c;
  }
  return out + "Z";
}

std::string escaped_text(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (c == '\\' || c == ';' || c == ',') out += '\\';
    if (c == '\n') {
      out += "\\n";
    } else if (static_cast<unsigned char>(c) >= 0x20 && c != 0x7f) {
      out += c;
    }
  }
  return out;
}

/// Long lines go on in the next one after a blank; no character is cut.
void add_line(std::string& out, const std::string& line) {
  std::size_t used = 0;
  for (std::size_t at = 0; at < line.size();) {
    const std::size_t bytes = code_point_at(line, at).bytes;
    if (used + bytes > line_octets) {
      out += "\r\n ";
      used = 1;
    }
    out.append(line, at, bytes);
    used += bytes;
    at += bytes;
  }
  out += "\r\n";
}

}  // namespace

std::string calendar_feed(const std::string& name, const std::vector<CalendarEvent>& events,
                          WallTime now) {
  std::string out;
  const auto add = [&out](const std::string& line) { add_line(out, line); };
  add("BEGIN:VCALENDAR");
  add("VERSION:2.0");
  add("PRODID:-//ebbwatch//board//EN");
  add("NAME:" + escaped_text(name));  // RFC 7986
  add("REFRESH-INTERVAL;VALUE=DURATION:PT1H");
  for (const auto& event : events) {
    add("BEGIN:VEVENT");
    add("UID:" + escaped_text(event.uid));
    add("DTSTAMP:" + stamp(now));
    add("DTSTART:" + stamp(event.from));
    add("DTEND:" + stamp(event.until));
    add("SUMMARY:" + escaped_text(event.summary));
    if (!event.description.empty()) add("DESCRIPTION:" + escaped_text(event.description));
    add("TRANSP:TRANSPARENT");
    add("END:VEVENT");
  }
  add("END:VCALENDAR");
  return out;
}

}  // namespace ebbwatch
