#include "board/pages.h"

namespace ebbwatch {
namespace {

Html question(const HistoryView& view) {
  Html out;
  out << "<form class=\"question\" method=\"get\" action=\"/history\">"
         "<label>Tank, site, area or controller <input name=\"subject\" value=\""
      << view.subject
      << "\" autocapitalize=\"none\" spellcheck=\"false\"></label>"
         "<label>From day <input type=\"date\" name=\"from\" value=\""
      << view.from << "\"></label><label>Until day <input type=\"date\" name=\"until\" value=\""
      << view.until << "\"></label><label>What <select name=\"kind\">"
      << options_part(history_kinds(), view.kind)
      << "</select></label><label>Words <input name=\"words\" value=\"" << view.words
      << "\"></label><button>Search</button>"
         "<button formaction=\"/history.csv\">Save as CSV</button>"
         "<button formaction=\"/history.json\">Save as JSON</button></form>\n";
  if (!view.complaint.empty()) {
    out << "<p class=\"complaint\" role=\"alert\">" << view.complaint << "</p>\n";
  }
  return out;
}

Html row(const HistoryLine& line) {
  Html out;
  out << "<tr><th scope=\"row\">" << moment_part(line.at) << "</th><td data-head=\"What\">"
      << line.decision << "</td><td data-head=\"About\">" << line.subject
      << " <span class=\"quiet\">" << line.scope << "</span></td><td data-head=\"Cause, or who\">"
      << line.cause << lines_part(line.detail) << "</td><td data-head=\"Outage\">";
  if (!line.outage.empty()) {
    out << "<a href=\"/outage/" << line.outage << "\">" << line.outage << "</a>";
  }
  return out << "</td></tr>\n";
}

}  // namespace

const std::vector<Choice>& history_kinds() {
  static const std::vector<Choice> kinds = {{"", "everything"},
                                            {"outages", "losses and recoveries"},
                                            {"acts", "what people did"},
                                            {"drills", "drills"},
                                            {"gaps", "gaps in the watching"}};
  return kinds;
}

std::string history_page(const Frame& frame, const HistoryView& view) {
  Html main;
  main << "<h1>History</h1>\n" << question(view);
  if (view.lines.empty()) {
    main << "<p>Nothing in the record fits.</p>\n";
  } else {
    main << "<table class=\"register\"><caption>The record, newest first";
    if (view.lines.size() == view.most) {
      main << "; only the newest " << std::to_string(view.most) << " are shown";
    }
    main << "</caption><thead><tr><th scope=\"col\">When</th><th scope=\"col\">What</th>"
            "<th scope=\"col\">About</th><th scope=\"col\">Cause, or who</th><th "
            "scope=\"col\">Outage</th>"
            "</tr></thead><tbody>\n";
    for (const auto& line : view.lines) main << row(line);
    main << "</tbody></table>\n";
  }
  return in_frame(frame, "History, " + frame.watcher, main);
}

}  // namespace ebbwatch
