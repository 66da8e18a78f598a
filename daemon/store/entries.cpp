#include "store/entries.h"

#include <unistd.h>

#include "store/open_database.h"

namespace ebbwatch {
namespace {

#define TIME_OF(column) "strftime('%Y-%m-%dT%H:%M:%fZ', " column " / 1000000.0, 'unixepoch')"

struct Question {
  const char* group;
  const char* sql;
};

constexpr Question questions[] = {
    {"controllers", "SELECT json_object('controller', controller, 'key_made_at', " TIME_OF(
                        "made_at") ") "
                                   "FROM keys ORDER BY controller"},
    {"passwords",
     "SELECT json_object('of', role, 'made_at', " TIME_OF("made_at") ") FROM board_passwords "
                                                                     "ORDER BY role"},
    {"read_only_addresses",
     "SELECT json_object('name', name, 'made_at', " TIME_OF("made_at") ") FROM wall_addresses "
                                                                       "ORDER BY name"},
    {"put_away",
     "SELECT json_object('scope', scope, 'subject', subject, 'kind', kind, 'since', " TIME_OF(
         "since") ", 'until', " TIME_OF("until") ", 'reason', reason, 'by', by) FROM shelves "
                                                 "ORDER BY scope, subject, kind"},
    {"stand_ins",
     "SELECT json_object('absent', absent, 'stand_in', stand_in, 'from', " TIME_OF(
         "since") ", 'until', " TIME_OF("until") ", 'by', by) FROM stand_ins ORDER BY absent"},
    {"acknowledgements",
     "SELECT json_object('outage', outage, 'by', acknowledged_by, 'at', " TIME_OF(
         "acknowledged_at") ", 'until', " TIME_OF("acknowledged_until") ") FROM calls "
                                                                        "WHERE acknowledged_by != "
                                                                        "'' ORDER BY outage"},
    {"drills", "SELECT json_object('outage', outage, 'started_at', " TIME_OF(
                   "started_at") ", 'site', site, 'by', by, 'told', told, 'answered', answered) "
                                 "FROM drills ORDER BY outage"},
    {"record", "SELECT json_object('at', " TIME_OF(
                   "at") ", 'kind', kind, 'scope', scope, 'subject', "
                         "subject, 'outage', outage, 'entry', CASE WHEN json_valid(json) THEN "
                         "json(json) ELSE json END) "
                         "FROM decisions WHERE kind NOT IN ('loss', 'recovery', 'cause_revised', "
                         "'watch_gap', "
                         "'unsteady', 'steady', 'shelf_ended', 'drill_ended') ORDER BY number"},
};

}  // namespace

Result<std::vector<EntryGroup>> people_entries(const std::string& state_dir) {
  if (::access(database_path(state_dir).c_str(), F_OK) != 0)
    return Error{Errc::not_found, database_path(state_dir) +
                                      " is not there: nothing was recorded yet, or this user may "
                                      "not look into the folder."};
  auto database = open_database(state_dir);
  if (!database) return database.error();
  auto moment = Transaction::begin_reading(database.value());
  if (!moment) return moment.error();
  std::vector<EntryGroup> groups;
  for (const auto& question : questions) {
    auto& group = groups.emplace_back();
    group.name = question.group;
    auto rows = database.value().prepare(question.sql);
    if (!rows) return rows.error();
    for (;;) {
      const auto more = rows.value().next();
      if (!more) return more.error();
      if (!more.value()) break;
      rows.value().into(group.objects.emplace_back());
    }
  }
  return groups;
}

}  // namespace ebbwatch
