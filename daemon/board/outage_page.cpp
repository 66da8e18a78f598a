#include "board/pages.h"

namespace ebbwatch {
namespace {

Html summary(const OutageView& view) {
  Html out;
  out << "<dl class=\"facts\"><div><dt>Since</dt><dd>" << moment_part(view.since)
      << "</dd></div><div><dt>Decided</dt><dd>" << moment_part(view.decided) << "</dd></div>";
  if (!view.running) {
    out << "<div><dt>Returned</dt><dd>" << moment_part(view.returned) << "</dd></div>";
  }
  out << "<div><dt>Out of contact</dt><dd>" << view.gone_for << "</dd></div><div><dt>Cause</dt><dd>"
      << view.cause << "</dd></div><div><dt>Alarm</dt><dd>" << view.alarm
      << "</dd></div><div><dt>Taken on by</dt><dd>";
  if (view.taken_by.empty()) {
    out << "nobody";
  } else {
    out << view.taken_by;
  }
  return out << "</dd></div></dl>\n";
}

Html entry_part(const TimelineEntry& entry) {
  Html out;
  out << "<li class=\"";
  switch (entry.kind) {
    case TimelineEntry::Kind::decision:
      out << "decision";
      break;
    case TimelineEntry::Kind::notice:
      out << "notice";
      break;
    case TimelineEntry::Kind::act:
      out << "act";
      break;
  }
  out << "\">" << moment_part(entry.at) << "<div><p class=\"headline\">" << entry.headline
      << "</p>";
  if (!entry.lines.empty()) {
    out << "<ul>";
    for (const auto& line : entry.lines) out << "<li>" << lines_part(line) << "</li>";
    out << "</ul>";
  }
  return out << "</div></li>\n";
}

}  // namespace

std::string outage_page(const Frame& frame, const OutageView& view) {
  Html main;
  main << "<h1>" << view.name << " <span class=\"quiet\">" << view.scope << ", outage "
       << view.outage << "</span></h1>\n"
       << summary(view);
  if (view.running && (view.alarm == "unacknowledged" || view.alarm == "returned unacknowledged")) {
    main << acknowledge_form(frame, view.outage, view.name, view.sites);
  }
  if (!view.false_by.empty()) {
    main << "<p class=\"marked\">Marked as a false alarm by <b>" << view.false_by
         << "</b>: it counts against the alarms, not for them.</p>\n";
  }
  if (!view.site.empty()) {
    main << "<p><a href=\"/site/" << view.site << "\">The site, its call list and what to check "
         << "first</a></p>\n";
  }
  for (const auto& tank : view.clocks) main << clocks_part(tank.clocks, tank.name);
  main << "<h2>What happened</h2>\n<ol class=\"timeline\">\n";
  for (const auto& entry : view.entries) main << entry_part(entry);
  main << "</ol>\n" << outage_forms(frame, view);
  return in_frame(frame, view.name + ", outage " + view.outage, main);
}

}  // namespace ebbwatch
