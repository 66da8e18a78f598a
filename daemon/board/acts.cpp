// The forms by which people act. Each is a POST with the session's token; who may not, gets none.
#include "board/pages.h"
#include "core/limits.h"

namespace ebbwatch {
namespace {

const std::vector<Choice>& shelf_spans() {
  static const std::vector<Choice> spans = {
      {"30min", "30 minutes"}, {"1h", "1 hour"}, {"2h", "2 hours"}, {"4h", "4 hours"},
      {"8h", "8 hours"},       {"1d", "1 day"},  {"3d", "3 days"},  {"7d", "7 days"}};
  return spans;
}

Html put_away_row(const Frame& frame, const SiteView& view, const PutAwayLine& line) {
  Html out;
  out << "<li><p><b>" << line.name << "</b> is " << line.kind << " since "
      << moment_part(line.since);
  if (!line.until.iso.empty()) out << " until " << moment_part(line.until);
  out << ", by " << line.by << ": " << line.reason << "</p>";
  if (line.may_end && frame.may_act({view.id})) {
    out << "<form method=\"post\" action=\"/site/" << view.id << "/unshelve\">"
        << token_field(frame) << "<input type=\"hidden\" name=\"subject\" value=\"" << line.subject
        << "\"><button aria-label=\"Take off the shelf: " << line.name
        << "\">Take off the shelf</button></form>";
  }
  return out << "</li>\n";
}

Html shelve_form(const Frame& frame, const SiteView& view) {
  Html out;
  if (!frame.may_act({view.id})) return out;
  out << "<details class=\"act\"><summary>Shelve: tell nobody for a while</summary>"
         "<form class=\"question\" method=\"post\" action=\"/site/"
      << view.id << "/shelve\">" << token_field(frame) << "<label>What <select name=\"subject\">"
      << options_part(view.subjects, "") << "</select></label><label>For <select name=\"for\">"
      << options_part(shelf_spans(), "2h")
      << "</select></label><label>Or until <input type=\"datetime-local\" name=\"until\"></label>"
         "<label>Why <input name=\"reason\" required maxlength=\""
      << std::to_string(limits::reason_chars_max)
      << "\"></label><button>Shelve</button></form>\n<p class=\"quiet\">Losses are still recorded. "
         "What is silent when the time is over is told at once. A time of day is the "
         "watcher's.</p></details>\n";
  return out;
}

}  // namespace

Html token_field(const Frame& frame) {
  Html out;
  return out << "<input type=\"hidden\" name=\"form_token\" value=\"" << frame.form_token << "\">";
}

Html options_part(const std::vector<Choice>& choices, const std::string& chosen) {
  Html out;
  for (const auto& choice : choices) {
    out << "<option value=\"" << choice.value << "\"";
    if (choice.value == chosen) out << " selected";
    out << ">" << choice.name << "</option>";
  }
  return out;
}

Html acknowledge_form(const Frame& frame, const std::string& outage, const std::string& name,
                      const std::vector<std::string>& sites) {
  Html out;
  if (!frame.may_act(sites)) return out;
  out << "<form class=\"acknowledge\" method=\"post\" action=\"/outage/" << outage
      << "/acknowledge\" data-sites=\"";
  for (const auto& site : sites) out << site << " ";
  out << "\">" << token_field(frame) << "<button aria-label=\"Acknowledge: I take on " << name
      << "\">Acknowledge</button></form>";
  return out;
}

Html outage_forms(const Frame& frame, const OutageView& view) {
  Html out;
  if (frame.may_act(view.sites)) {
    out << "<form class=\"note\" method=\"post\" action=\"/outage/" << view.outage << "/note\">"
        << token_field(frame)
        << "<label>Add a note: what you found, what you did <textarea name=\"text\" rows=\"3\" "
           "required maxlength=\""
        << std::to_string(limits::note_chars_max)
        << "\"></textarea></label><button>Add the note</button></form>\n";
  }
  if (frame.role < Role::host || view.drill) return out;
  const bool marked = !view.false_by.empty();
  out << "<form class=\"mark\" method=\"post\" action=\"/outage/" << view.outage << "/mark\">"
      << token_field(frame) << "<input type=\"hidden\" name=\"false\" value=\"";
  if (marked) {
    out << "no\"><button>Not false after all</button>";
  } else {
    out << "yes\"><button>Mark as a false alarm</button>";
  }
  return out << " <span class=\"quiet\">Nothing was wrong, and nobody needed to be told. It stays "
                "in the record and counts in the alarm performance.</span></form>\n";
}

Html put_away_part(const Frame& frame, const SiteView& view) {
  Html out;
  if (!view.put_away.empty()) {
    out << "<section class=\"put-away\" aria-labelledby=\"put-away\"><h2 id=\"put-away\">Put away: "
           "nobody is told</h2><ul>\n";
    for (const auto& line : view.put_away) out << put_away_row(frame, view, line);
    out << "</ul></section>\n";
  }
  return out << shelve_form(frame, view);
}

Html drill_form(const Frame& frame, const SiteView& view) {
  Html out;
  if (frame.role < Role::host || view.call_list.empty()) return out;
  out << "<form class=\"drill\" method=\"post\" action=\"/drill\">" << token_field(frame)
      << "<input type=\"hidden\" name=\"site\" value=\"" << view.id
      << "\"><button>Run a drill at this site</button> <span class=\"quiet\">A made-up loss goes "
         "to "
         "everybody on the call list by every way, marked DRILL.</span></form>\n";
  return out;
}

}  // namespace ebbwatch
