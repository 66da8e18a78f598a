#include <algorithm>

#include "board/pages.h"

namespace ebbwatch {
namespace {

bool put_away(const std::string& alarm) {
  return alarm == "shelved" || alarm == "suppressed by design" || alarm == "out of service";
}

/// The sequence of the lamp (ISA-18.1, ringback): which class the style sheet knows.
std::string lamp(const PanelWindow& window) {
  if (put_away(window.alarm)) return "away";
  if (window.alarm == "unacknowledged") return "fast";
  if (window.alarm == "acknowledged") return "steady";
  if (window.alarm == "returned unacknowledged") return "slow";
  if (window.contact == "lost") return "steady";
  std::string reading;
  for (const ReadingLine& line : window.readings) {
    if (line.alarm == "unacknowledged") return "fast";
    if (line.alarm == "acknowledged") reading = "steady";
  }
  if (!reading.empty()) return reading;
  if (window.contact == "returning") return "slow";
  return window.contact == "in doubt" ? "doubt" : "off";
}

/// A shape for each sequence, so that nothing hangs on colour or movement.
Html shape(const std::string& sequence) {
  Html out;
  if (sequence == "off") return out;
  out << "<svg class=\"shape\" viewBox=\"0 0 20 20\" aria-hidden=\"true\">";
  if (sequence == "fast") {
    out << "<path d=\"M10 1 19 18H1Z\"/>";
  } else if (sequence == "steady") {
    out << "<path d=\"M2 2h16v16H2Z\"/>";
  } else if (sequence == "slow") {
    out << "<path class=\"line\" d=\"M16.5 6A7.5 7.5 0 1 0 17.5 10M17 1v5.5h-5.5\"/>";
  } else if (sequence == "doubt") {
    out << "<path class=\"line\" d=\"M10 2 18 10 10 18 2 10Z\"/>";
  } else {
    out << "<path d=\"M1 8h18v4H1Z\"/>";
  }
  return out << "</svg>";
}

std::string state_words(const PanelWindow& window) {
  std::string words = window.contact;
  if (window.alarm != "normal") words += ", " + window.alarm;
  for (const ReadingLine& line : window.readings) words += "; " + line.text + ", " + line.alarm;
  return words;
}

std::string readings_verdict(const PanelView& view) {
  std::size_t out = 0;
  for (const auto& window : view.windows) out += window.readings.size();
  if (out == 0) return "";
  return out == 1 ? " One reading is out of its limits."
                  : " " + std::to_string(out) + " readings are out of their limits.";
}

std::string contact_verdict(const PanelView& view) {
  const auto total = view.windows.size();
  std::size_t lost = 0, doubt = 0, back = 0;
  for (const auto& window : view.windows) {
    lost += window.contact == "lost";
    doubt += window.contact == "in doubt";
    back += window.contact == "returning";
  }
  const auto of = [](std::size_t n) { return std::to_string(n); };
  if (total == 0) return "No tank is configured.";
  const std::string tanks = total == 1 ? " tank" : " tanks";
  if (lost + doubt + back == 0) {
    return total == 1 ? "The one tank is in contact."
                      : "All " + of(total) + tanks + " are in contact.";
  }
  std::string out = "Of " + of(total) + tanks + ":";
  const auto add = [&](std::size_t n, const char* what) {
    if (n > 0) out += (out.back() == ':' ? " " : ", ") + of(n) + " " + what;
  };
  add(lost, "lost");
  add(doubt, "in doubt");
  add(back, "returning");
  add(total - lost - doubt - back, "in contact");
  return out + ".";
}

std::string verdict(const PanelView& view) {
  return contact_verdict(view) + readings_verdict(view);
}

Html running_row(const Frame& frame, const RunningOutage& outage) {
  Html out;
  out << "<li><p class=\"what\"><a";
  if (frame.wall_key.empty()) out << " href=\"/outage/" << outage.outage << "\"";
  out << ">" << outage.name << "</a> <span class=\"quiet\">" << outage.scope
      << "</span></p><dl><div><dt>Since</dt><dd>" << moment_part(outage.since)
      << "</dd></div><div><dt>" << std::string(outage.scope == "reading" ? "What" : "Cause")
      << "</dt><dd>" << outage.cause << "</dd></div><div><dt>Taken on by</dt><dd>";
  if (outage.taken_by.empty()) {
    out << "nobody yet";
  } else {
    out << outage.taken_by;
  }
  out << "</dd></div></dl>";
  if (outage.alarm == "unacknowledged" || outage.alarm == "returned unacknowledged") {
    out << acknowledge_form(frame, outage.outage, outage.name, outage.sites);
  }
  return out << "</li>\n";
}

}  // namespace

Html window_part(const PanelWindow& window, bool leads) {
  const std::string sequence = lamp(window);
  Html out;
  out << "<li id=\"window-" << window.tank << "\" class=\"window " << sequence << "\"><a";
  if (leads && window.outage.empty() && window.readings.empty()) {
    out << " href=\"/site/" << window.site << "\"";
  } else if (leads && window.outage.empty()) {
    out << " href=\"/outage/" << window.readings.front().outage << "\"";
  } else if (leads) {
    out << " href=\"/outage/" << window.outage << "\"";
  }
  out << ">" << shape(sequence) << "<span class=\"engraved\">" << window.name
      << "</span><span class=\"place\">" << window.site_name << "</span><span class=\"state\">"
      << state_words(window);
  if (!window.since.iso.empty()) out << ", since " << moment_part(window.since);
  return out << "</span>" << small_clocks(window.clocks) << "</a></li>\n";
}

Html news_part(const Frame& frame, const PanelView& view) {
  Html out;
  out << "<section id=\"news\" data-seen=\"" << frame.seen << "\" data-form-token=\""
      << frame.form_token << "\" data-stream=\"";
  if (frame.wall_key.empty()) {
    out << "/v1/events";
  } else {
    out << "/wall/" << frame.wall_key << "/events";
  }
  out << "\" data-may=\"";
  if (frame.role == Role::host) {
    out << "*";
  } else if (frame.role == Role::keyholder) {
    for (const auto& site : frame.own_sites) out << site << " ";
  }
  out << "\" aria-labelledby=\"verdict\"><h1 id=\"verdict\">" << verdict(view) << "</h1>\n";
  if (!view.running.empty()) {
    out << "<ul class=\"running\" aria-label=\"Running outages\">\n";
    for (const auto& outage : view.running) out << running_row(frame, outage);
    out << "</ul>\n";
  }
  return out << "</section>\n";
}

std::string panel_page(const Frame& frame, const PanelView& view) {
  Html main;
  main << news_part(frame, view)
       << "<section class=\"panel\" aria-label=\"Annunciator panel, one window for each tank\">\n"
          "<ul class=\"windows\">\n";
  for (const auto& window : view.windows) main << window_part(window, frame.wall_key.empty());
  main << "</ul>\n<div class=\"switches\">"
          "<label><input type=\"checkbox\" id=\"hold-lamps\"> Hold the lamps still</label>"
          "<label class=\"needs-script\"><input type=\"checkbox\" id=\"horn\"> Sound the "
          "horn</label>"
          "<span id=\"line\" class=\"needs-script\" role=\"status\"></span></div>\n"
          "<p class=\"legend\">Fast flash: unacknowledged. Steady: acknowledged. Slow flash: "
          "returned. Broken rim: in doubt.</p></section>\n";
  return in_frame(frame, verdict(view) + " " + frame.watcher, main);
}

}  // namespace ebbwatch
