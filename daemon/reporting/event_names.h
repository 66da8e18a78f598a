// Every kind of line that the daemon's log may hold. Names are stable: filters and alerts of owners
// rely on them. A test compares this table with the calls of say() in all of daemon/, both ways.
#pragma once

#include <string_view>

#include "reporting/log.h"

namespace ebbwatch {

struct EventName {
  std::string_view name;
  Level least, most;        ///< The levels that its lines may have; mostly the same one.
  std::string_view fields;  ///< What the sentence names.
};

inline constexpr EventName event_names[] = {
    {"acknowledged", Level::info, Level::info, "outage, who took it on, by what"},
    {"acknowledgement_ran_out", Level::warning, Level::warning, "outage"},
    {"board_locked", Level::warning, Level::warning, ""},
    {"board_login", Level::info, Level::info, "who, role, remote address"},
    {"board_login_refused", Level::info, Level::info, "role, remote address"},
    {"broken_invariant", Level::error, Level::error, "condition, file, line"},
    {"broker_answers", Level::info, Level::info, "MQTT broker"},
    {"broker_silent", Level::warning, Level::warning, "MQTT broker, why it cannot be used"},
    {"check_in", Level::debug, Level::debug, "controller, remote address"},
    {"check_in_refused", Level::info, Level::info, "remote address, status, controller if known"},
    {"controller_left", Level::info, Level::info, "controller that the MQTT broker has lost"},
    {"copy_not_kept", Level::warning, Level::warning, "why keys and passwords could not be copied"},
    {"database_damaged", Level::error, Level::error,
     "what is wrong, where the file is now, rows taken over, what to do"},
    {"decided", Level::info, Level::warning, "decision, scope, subject, cause, evidence"},
    {"delivery_report", Level::info, Level::warning, "notifier, notice, whether it arrived"},
    {"drill_answered", Level::info, Level::info, "who, exercise, by what"},
    {"drill_begun", Level::info, Level::info, "exercise, site, who is told, who began it"},
    {"drill_ended", Level::warning, Level::warning, "exercise, who was told, who answered"},
    {"keys", Level::error, Level::error, "why the controllers' keys could not be read"},
    {"listening", Level::info, Level::info, "transport, address, port"},
    {"no_room_made", Level::warning, Level::warning, "why old rows could not be condensed"},
    {"not_available", Level::warning, Level::warning, "key of the configuration"},
    {"notice_attempt", Level::info, Level::warning,
     "notice, event type, subject, keyholder, notifier, outcome, answer"},
    {"notice_remark", Level::warning, Level::warning, "why somebody cannot be told"},
    {"notices_taken_up", Level::info, Level::info, "how many wait from an earlier run"},
    {"notifier_checked", Level::info, Level::warning, "notifier, what it would do now and why"},
    {"old_keys", Level::warning, Level::warning, "how many keys cannot sign datagrams"},
    {"put_away", Level::info, Level::info, "scope, subject, until when, who, why"},
    {"put_back", Level::info, Level::info, "scope, subject, who"},
    {"reading_alarm", Level::warning, Level::warning, "reading, controller, tank, outage"},
    {"reading_normal", Level::info, Level::info, "reading, controller, tank, outage"},
    {"reload_refused", Level::error, Level::error, ""},
    {"reloaded", Level::info, Level::info, ""},
    {"restart_needed", Level::warning, Level::warning, "the keys that need a restart"},
    {"settings_problem", Level::error, Level::error, "file, line, column, what to change"},
    {"shelf_ended", Level::info, Level::info, "scope, subject"},
    {"small_buffer", Level::info, Level::info, "size of the receive buffer, what to set"},
    {"stand_in", Level::info, Level::info, "who stands in for whom until when"},
    {"stand_in_ended", Level::info, Level::info, "who stood in for whom"},
    {"started", Level::info, Level::info, "watcher, number of controllers"},
    {"stopped", Level::info, Level::info, ""},
    {"stopping", Level::info, Level::info, "why"},
    {"store_failing", Level::error, Level::error, "why, what goes on all the same"},
    {"store_working", Level::info, Level::info, ""},
    {"task_failed", Level::error, Level::error, "task, why it ended"},
    {"telling", Level::info, Level::warning, "outage, which watcher tells of it from now on"},
    {"text_not_answering", Level::warning, Level::warning, "number, notifier, why, the text"},
    {"wall_clock_set", Level::warning, Level::warning, "by how much"},
    {"was_not_running", Level::warning, Level::warning, "for how long"},
    {"wish", Level::info, Level::info, "controller, delays, what to expect of them"},
    {"wish_not_to_be_had", Level::warning, Level::warning,
     "controller, delays, what to expect of them, what can be had instead"},
    {"witness", Level::info, Level::warning, "witness, whether it can be asked"},
    {"witness_refused", Level::info, Level::info, "remote address, status, why"},
    {"witness_talk", Level::info, Level::warning, "witness, why it does not answer"},
    {"written_down", Level::info, Level::info, "note or mark, outage, who"},
};

}  // namespace ebbwatch
