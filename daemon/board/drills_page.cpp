// When each way to each person was last proven, and the exercises that were to prove it.
#include "board/pages.h"

namespace ebbwatch {
namespace {

Html begin_form(const Frame& frame, const DrillsView& view) {
  Html out;
  if (frame.role < Role::host || view.sites.empty()) return out;
  return out
         << "<form class=\"question\" method=\"post\" action=\"/drill\">" << token_field(frame)
         << "<label>At <select name=\"site\">" << options_part(view.sites, "")
         << "</select></label><label>To <select name=\"to\"><option value=\"\">everybody on its "
            "call list</option>"
         << options_part(view.people, "")
         << "</select></label><button>Run a drill</button></form>\n<p class=\"quiet\">A made-up "
            "tank falls silent; its notices are marked DRILL. It waits while a real outage "
            "runs.</p>\n";
}

Html way_row(const WayLine& way) {
  Html out;
  out << "<tr><th scope=\"row\">" << way.person << "</th><td data-head=\"By\">" << way.way
      << "</td><td data-head=\"Delivered\">" << moment_part(way.delivered)
      << "</td><td data-head=\"Answered\">";
  if (way.asks_answer) {
    out << moment_part(way.answered);
  } else {
    out << "not asked for";
  }
  out << "</td><td data-head=\"Last proven\">" << moment_part(way.proven);
  if (way.overdue) out << " <b class=\"overdue\">overdue</b>";
  return out << "</td></tr>\n";
}

Html ways_part(const DrillsView& view) {
  Html out;
  if (view.ways.empty()) return out << "<p>No call list tells anybody.</p>\n";
  out << "<table class=\"register\"><caption>Every way to every person. A way that can be answered "
         "is proven by an answer, another by a delivery.</caption><thead><tr><th "
         "scope=\"col\">Person</th><th scope=\"col\">By</th><th scope=\"col\">Delivered</th><th "
         "scope=\"col\">Answered</th><th scope=\"col\">Last proven</th></tr></thead><tbody>\n";
  for (const auto& way : view.ways) out << way_row(way);
  return out << "</tbody></table>\n";
}

Html drill_row(const DrillLine& drill) {
  Html out;
  out << "<tr><th scope=\"row\"><a href=\"/outage/" << drill.outage << "\">"
      << moment_part(drill.at) << "</a></th><td data-head=\"At\">" << drill.site
      << "</td><td data-head=\"Begun by\">" << drill.by << "</td><td data-head=\"Told\">"
      << drill.told << "</td><td data-head=\"Answered\">";
  if (drill.answered.empty()) {
    out << "nobody";
  } else {
    out << drill.answered;
  }
  return out << "</td><td data-head=\"State\">" << drill.state << "</td></tr>\n";
}

}  // namespace

std::string drills_page(const Frame& frame, const DrillsView& view) {
  Html main;
  main << "<h1>Drills</h1>\n" << begin_form(frame, view);
  if (!view.complaint.empty()) {
    main << "<p class=\"complaint\" role=\"alert\">" << view.complaint << "</p>\n";
  }
  main << "<h2>Ways to people</h2>\n" << ways_part(view) << "<h2>Drills so far</h2>\n";
  if (view.drills.empty()) {
    main << "<p>None yet.</p>\n";
  } else {
    main << "<table class=\"register\"><caption>Newest first</caption><thead><tr><th "
            "scope=\"col\">When</th><th scope=\"col\">At</th><th scope=\"col\">Begun by</th><th "
            "scope=\"col\">Told</th><th scope=\"col\">Answered</th><th "
            "scope=\"col\">State</th></tr></thead><tbody>\n";
    for (const auto& drill : view.drills) main << drill_row(drill);
    main << "</tbody></table>\n";
  }
  return in_frame(frame, "Drills, " + frame.watcher, main);
}

}  // namespace ebbwatch
