// Whether the alarms deserve trust.
#include "board/pages.h"

namespace ebbwatch {
namespace {

Html verdict_part(MeasureLine::Verdict verdict) {
  Html out;
  if (verdict == MeasureLine::Verdict::good) return out << "met";
  if (verdict == MeasureLine::Verdict::poor) return out << "<b>not met</b>";
  return out;
}

Html measures_part(const std::vector<MeasureLine>& measures, const std::string& caption) {
  Html out;
  out << "<table class=\"register\"><caption>" << caption
      << "</caption><thead><tr><th scope=\"col\">Measure</th><th scope=\"col\">Value</th><th "
         "scope=\"col\">Aim</th><th scope=\"col\">Aim met</th></tr></thead><tbody>\n";
  for (const auto& line : measures) {
    out << "<tr><th scope=\"row\">" << line.name << "</th><td data-head=\"Value\">" << line.value
        << "</td><td data-head=\"Aim\">" << line.aim << "</td><td data-head=\"Aim met\">"
        << verdict_part(line.verdict) << "</td></tr>\n";
  }
  return out << "</tbody></table>\n";
}

Html stretches(const PerformanceView& view) {
  Html out;
  out << "<p class=\"stretches\">Over the last";
  for (const std::size_t days : {30u, 90u, 365u}) {
    const std::string text = std::to_string(days);
    if (days == view.days) {
      out << " <b aria-current=\"true\">" << text << "</b>";
    } else {
      out << " <a href=\"/performance?days=" << text << "\">" << text << "</a>";
    }
  }
  return out << " days, since " << view.since << ".</p>\n";
}

}  // namespace

std::string performance_page(const Frame& frame, const PerformanceView& view) {
  Html main;
  main << "<h1>Alarm performance</h1>\n" << stretches(view);
  if (!view.complaint.empty()) {
    main << "<p class=\"complaint\" role=\"alert\">" << view.complaint << "</p>\n";
  } else {
    if (!view.loudest.empty()) {
      main << "<p class=\"marked\">Over half of all alarms came from the <b>" << view.loudest
           << "</b>: look at its link and supply.</p>\n";
    }
    main << measures_part(view.measures, "All alarms");
    for (const auto& person : view.people) {
      main << "<h2>" << person.name << "</h2>\n"
           << measures_part(person.measures, "What " + person.name + " was sent");
    }
    if (view.people.empty()) main << "<p>Nobody was sent anything in this time.</p>\n";
    main << "<p class=\"quiet\">Measures after ISA-18.2 and EEMUA 191; the aims are far tighter "
            "than a plant's, since an alarm at home that proves nothing teaches people to ignore "
            "the next one. Fewer than 30 days say little.</p>\n";
  }
  return in_frame(frame, "Alarm performance, " + frame.watcher, main);
}

}  // namespace ebbwatch
