#include <algorithm>

#include "core/wording.h"
#include "notices/lines.h"
#include "report/availability.h"
#include "report/performance.h"
#include "report/report.h"
#include "report/words.h"
#include "text/calendar.h"

namespace ebbwatch::report {
namespace {

std::string padded(const std::string& text, std::size_t room) {
  const std::string fitting = shorten(text, room, columns);
  return fitting + std::string(room - std::min(room, columns(fitting)), ' ');
}

std::string heading(const std::string& title) {
  return "\n" + title + "\n" + std::string(columns(title), '-') + "\n";
}

std::string availability_part(const Record& record) {
  constexpr std::size_t name_room = 30, cell_room = 13;
  std::string out = heading("Availability");
  out += padded("Tank", name_room) + padded("In contact", cell_room) +
         padded("Lost for", cell_room) + padded("Not watched", cell_room) + "Outages\n";
  const auto times = tank_times(record);
  for (std::size_t i = 0; i < times.size(); ++i) {
    const Tank& tank = record.tanks[i];
    const std::string name = tank.site == tank.name ? tank.name : tank.name + ", " + tank.site;
    out += padded(name, name_room - 1) + " " +
           padded(percent_text(times[i].availability()), cell_room) +
           padded(span_text(times[i].lost), cell_room) +
           padded(span_text(times[i].unwatched), cell_room) + std::to_string(times[i].outages) +
           "\n";
  }
  if (times.empty()) out += "No tank is configured.\n";
  return out + wrap(
                   "In contact is the share of the time in which this watcher ran. Its own gaps "
                   "are not watched, and count against no tank.");
}

std::string outage_part(const Record& record) {
  std::string out = heading("Outages");
  if (record.outages.empty()) return out + "None.\n";
  for (const Outage& outage : record.outages) {
    out += wrap(outage.name + " (" + outage.scope + "), " + outage.id);
    out += wrap(local_minute(outage.since) + " to " +
                    (outage.returned ? local_minute(*outage.returned) : "now") + ", " +
                    lasted_text(outage, record.until),
                "  ", "  ");
    out += wrap("Cause: " + cause_text(outage.cause, outage.confidence), "  ", "    ");
    out +=
        wrap("Known " + span_text(outage.decided_at - outage.since) + " after it began; " +
                 notices_text(outage) + (outage.notices.empty() ? "" : "; " + answer_text(outage)),
             "  ", "    ");
  }
  return out;
}

std::string person_lines(const PersonLoad& load) {
  return wrap(load.person + ": " + counted(load.messages, "message", "messages") + ", " +
                  decimal_text(load.per_week, 2) + " a week; at most " +
                  std::to_string(load.most_in_ten_minutes) + " in ten minutes; " +
                  counted(load.floods.floods.size(), "flood", "floods"),
              "  ", "    ");
}

std::string performance_part(const Record& record) {
  const Performance it = performance_of(record);
  std::string out = heading("Alarm performance");
  out += wrap(counted(it.alarms, "outage was", "outages were") + " told; " +
              std::to_string(it.acknowledged) + " of " + std::to_string(it.asked) +
              " taken on by somebody" +
              (it.acknowledged_middle
                   ? ", after " + span_text(*it.acknowledged_middle) +
                         " (median), at the longest after " + span_text(*it.acknowledged_longest)
                   : "") +
              ".");
  for (const PersonLoad& load : it.people) out += person_lines(load);
  out += wrap("Aim: under 1 message a week for each person, never more than 5 in ten minutes.");
  out += wrap("Marked as false by people: " + std::to_string(it.marked_false) + " of " +
              std::to_string(it.alarms) + ".");
  out += wrap("Brief, over within 5 min: " + std::to_string(it.brief) +
              ". Standing for more than a day: " + std::to_string(it.standing) +
              ". Unsteady spells held back: " + std::to_string(it.unsteady) + ".");
  if (!it.loudest.empty()) {
    out += wrap("Over half of all alarms came from the " + it.loudest +
                ": look at its link and supply.");
  }
  return out;
}

std::string drill_part(const Record& record) {
  std::string out = heading("Drills");
  if (record.drills.empty()) return out + "None in this time.\n";
  for (const Drill& drill : record.drills) {
    std::string silent;
    for (const auto& name : drill.silent) silent += (silent.empty() ? "" : ", ") + name;
    out += wrap(local_minute(drill.at) + " " + drill.site + ": " + std::to_string(drill.answered) +
                    " of " + std::to_string(drill.told) + " answered" +
                    (silent.empty() ? "" : "; not: " + silent),
                "", "  ");
  }
  return out;
}

}  // namespace

std::string text_report(const Record& record) {
  const std::string title = "Report of the watcher " + record.watcher + ": " + record.title;
  std::string out = wrap(title);
  const auto gaps = joined(record.gaps, {record.from, record.until});
  out += wrap(local_minute(record.from) + " to " + local_minute(record.until) +
              ". The watcher's own gaps: " +
              (gaps.empty()
                   ? "none."
                   : std::to_string(gaps.size()) + ", " + span_text(length(gaps)) + " in all."));
  out += availability_part(record) + outage_part(record) + performance_part(record) +
         drill_part(record);
  return out + "\n" +
         wrap(
             "ebbwatch helps people to notice; it is not a life-safety system, and contact says "
             "nothing of the water itself.");
}

}  // namespace ebbwatch::report
