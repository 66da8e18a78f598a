#include <string_view>

#include "charts/strip_chart.h"
#include "core/wording.h"
#include "report/availability.h"
#include "report/performance.h"
#include "report/report.h"
#include "report/strips.h"
#include "report/words.h"
#include "text/calendar.h"
#include "text/markup.h"

namespace ebbwatch::report {
namespace {

constexpr std::string_view style = R"(<style>
:root{color-scheme:light dark}
body{font:100%/1.45 "DejaVu Sans",Verdana,sans-serif;max-width:60rem;margin:0 auto;padding:1rem}
h1{font-size:1.4rem}h2{font-size:1.1rem;margin-top:1.6rem;border-bottom:1px solid}
table{border-collapse:collapse;width:100%;font-size:.9rem}
th,td{text-align:left;vertical-align:top;padding:.3rem .8rem .3rem 0;border-bottom:1px solid #8884}
td.number{text-align:right;font-variant-numeric:tabular-nums}
figure{margin:1rem 0}.wide{overflow-x:auto}
@media print{:root{color-scheme:light}body{max-width:none;padding:0;font-size:10pt}
h2{break-after:avoid}tr,figure{break-inside:avoid}thead{display:table-header-group}}
</style>
)";

std::string cell(const std::string& text, const char* more = "") {
  return std::string("<td") + more + ">" + escaped(text) + "</td>";
}

std::string head(std::initializer_list<const char*> names) {
  std::string out = "<div class=\"wide\"><table><thead><tr>";
  for (const char* name : names) out += std::string("<th scope=\"col\">") + name + "</th>";
  return out + "</tr></thead><tbody>\n";
}
constexpr const char* table_end = "</tbody></table></div>\n";

std::string availability_part(const Record& record, const std::vector<TankTime>& times) {
  constexpr const char* number = " class=\"number\"";
  std::string out = "<h2>Availability</h2>\n" +
                    head({"Tank", "Site", "In contact", "Lost for", "Not watched", "Outages"});
  for (std::size_t i = 0; i < times.size(); ++i) {
    out += "<tr>" + cell(record.tanks[i].name) + cell(record.tanks[i].site) +
           cell(percent_text(times[i].availability()), number) +
           cell(span_text(times[i].lost), number) + cell(span_text(times[i].unwatched), number) +
           cell(std::to_string(times[i].outages), number) + "</tr>\n";
  }
  return out + table_end +
         "<p>In contact is the share of the time in which this watcher ran. Its own gaps are not "
         "watched, and count against no tank.</p>\n";
}

std::string outage_part(const Record& record) {
  std::string out = "<h2>Outages</h2>\n";
  if (record.outages.empty()) return out + "<p>None.</p>\n";
  out += head({"What", "From", "To", "Lasted", "Cause", "Known after", "Told", "Answer"});
  for (const Outage& outage : record.outages) {
    out += "<tr>" + cell(outage.name + " (" + outage.scope + "), " + outage.id) +
           cell(local_minute(outage.since)) +
           cell(outage.returned ? local_minute(*outage.returned) : "still running") +
           cell(lasted_text(outage, record.until)) +
           cell(cause_text(outage.cause, outage.confidence)) +
           cell(span_text(outage.decided_at - outage.since)) + cell(notices_text(outage)) +
           cell(outage.notices.empty() ? "" : answer_text(outage)) + "</tr>\n";
  }
  return out + table_end;
}

std::string performance_part(const Record& record) {
  const Performance it = performance_of(record);
  const auto row = [](const std::string& measure, const std::string& value,
                      const std::string& aim) {
    return "<tr>" + cell(measure) + cell(value) + cell(aim) + "</tr>\n";
  };
  std::string out = "<h2>Alarm performance</h2>\n" + head({"Measure", "This time", "Aim"});
  out += row("Outages told", std::to_string(it.alarms), "");
  out += row("Taken on by somebody",
             std::to_string(it.acknowledged) + " of " + std::to_string(it.asked), "all");
  if (it.acknowledged_middle) {
    out += row("Time until taken on",
               span_text(*it.acknowledged_middle) + " (median), " +
                   span_text(*it.acknowledged_longest) + " (longest)",
               "");
  }
  for (const PersonLoad& load : it.people) {
    out += row("Messages to " + load.person,
               std::to_string(load.messages) + ", " + decimal_text(load.per_week, 2) + " a week",
               "under 1 a week");
    out += row("Most to " + load.person + " in ten minutes",
               std::to_string(load.most_in_ten_minutes) + ", " +
                   counted(load.floods.floods.size(), "flood", "floods"),
               "5 at most, no flood");
  }
  out += row("Marked as false by people",
             std::to_string(it.marked_false) + " of " + std::to_string(it.alarms), "0");
  out += row("Brief: over within 5 min", std::to_string(it.brief), "0");
  out += row("Standing for more than a day", std::to_string(it.standing), "0");
  out += row("Unsteady spells held back", std::to_string(it.unsteady), "0");
  if (!it.loudest.empty()) {
    out += row("Over half of all alarms from", it.loudest, "look at its link and supply");
  }
  return out + table_end;
}

std::string drill_part(const Record& record) {
  std::string out = "<h2>Drills</h2>\n";
  if (record.drills.empty()) return out + "<p>None in this time.</p>\n";
  out += head({"When", "Site", "Asked by", "Answered", "Not"});
  for (const Drill& drill : record.drills) {
    std::string silent;
    for (const auto& name : drill.silent) silent += (silent.empty() ? "" : ", ") + name;
    out += "<tr>" + cell(local_minute(drill.at)) + cell(drill.site) + cell(drill.by) +
           cell(std::to_string(drill.answered) + " of " + std::to_string(drill.told)) +
           cell(silent) + "</tr>\n";
  }
  return out + table_end;
}

}  // namespace

std::string html_report(const Record& record) {
  const std::string title = "Report of the watcher " + record.watcher + ": " + record.title;
  const auto times = tank_times(record);
  const auto gaps = joined(record.gaps, {record.from, record.until});
  std::string out =
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<title>" +
      escaped(title) +
      "</title>\n<meta name=\"viewport\" content=\"width=device-width, "
      "initial-scale=1\">\n";
  out += std::string(style) + "</head>\n<body>\n<main>\n<h1>" + escaped(title) + "</h1>\n<p>" +
         escaped(local_minute(record.from) + " to " + local_minute(record.until)) +
         ". The watcher's own gaps: ";
  out += gaps.empty() ? "none"
                      : std::to_string(gaps.size()) + ", " + span_text(length(gaps)) + " in all";
  out += ".</p>\n";
  if (!times.empty()) {
    out += "<figure>" + charts::svg(contact_strip(record, times), charts::Styling::embedded) +
           "</figure>\n";
  }
  out += availability_part(record, times) + outage_part(record) + performance_part(record) +
         drill_part(record);
  return out +
         "<p>ebbwatch helps people to notice; it is not a life-safety system, and contact says "
         "nothing of the water itself.</p>\n</main>\n</body>\n</html>\n";
}

}  // namespace ebbwatch::report
