// How far the call list of one outage has got: whose turn it is, and when the next turn comes.
// Pure.
//
// An outage that widens can have several lists; each counts its steps from when it joined. Steps
// are taken in order of their time while nobody has acknowledged. After the last step everybody on
// the lists is told again every `repeat_every`, at most `repeat_at_most` times, as the first list
// that repeats says; turns that were missed while the daemon was off are not made up one by one.
//
// A list whose hours end while nobody has acknowledged goes on, and its `otherwise` joins it then.
//
// An acknowledgement stops the list and runs out after `acknowledged_for`; if the outage still runs
// then, the list begins again at its first step.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/ids.h"
#include "core/time.h"
#include "notices/compose.h"
#include "ports/store.h"
#include "settings/settings.h"

namespace ebbwatch {

struct JoinedList {
  std::string id;
  Span joined_after;  ///< After CallState::started_at; whole seconds.
};

struct CallState {
  OutageId outage = 0;
  std::vector<JoinedList> lists;
  WallTime started_at;          ///< Steps count from here: the loss, or the last resumption.
  std::uint32_t next_step = 0;  ///< Steps taken, in order of time.
  std::uint32_t repeats = 0;
  bool acknowledged = false;
  std::string acknowledged_by;              ///< Kept when it has run out, to say whose it was.
  std::optional<WallTime> acknowledged_at;  ///< The newest one.
  std::optional<WallTime> acknowledged_until;
  std::uint32_t resumptions = 0;  ///< How often an acknowledgement has run out.
  bool closed = false;
};

/// One person and the notifiers by which to reach them, in order.
struct Call {
  std::string keyholder;
  std::vector<std::string> by;
};
/// Whom to tell now.
struct CallTurn {
  Occasion occasion = Occasion::first;
  std::uint32_t round = 0;  ///< 0 for steps; counts the reminders from 1.
  std::uint32_t resumption = 0;
  std::vector<Call> calls;
};

/// Null when there is none. Valid as long as the settings are.
const CallListSettings* find_list(const Settings& settings, const std::string& id);

/// Adds the ways to this person's entry, which is made when there is none.
void add_call(std::vector<Call>& calls, const std::string& keyholder,
              const std::vector<std::string>& by);

/// An acknowledgement: the list stops until it runs out, the soonest `acknowledged_for` of its
/// lists from now. A further one counts anew.
void take_on(CallState& state, const Settings& settings, const std::string& by, WallTime now);

/// The list stops until begin_again(): what the outage is about is put away.
void stop_calls(CallState& state, WallTime now);
/// From the first step, counting from `now`, as after an acknowledgement that has run out, with the
/// lists that are used at this hour.
void begin_again(CallState& state, const Settings& settings, WallTime now);
/// When the next turn is due (or the acknowledgement runs out); empty when the list has stopped or
/// is at its end. Lists that the settings no longer have are passed over.
std::optional<WallTime> next_turn_at(const CallState& state, const Settings& settings);
/// Takes the next turn that is due at `now`, if any. Call until it gives none.
std::optional<CallTurn> take_turn(CallState& state, const Settings& settings, WallTime now);
/// Takes the next step before its time, because nobody of the earlier ones can be reached. Empty
/// when there is no further step or the list has stopped.
std::optional<CallTurn> take_step_early(CallState& state, const Settings& settings);
/// Adds lists that are not in it yet, counting from `now`, and starts again from the first step not
/// told (the caller passes over persons who were told). An acknowledgement ends: it was given for
/// less. @return whether anything was added.
bool join_lists(CallState& state, const std::vector<std::string>& lists, WallTime now);

/// The persons of a list's first moment: all steps as early as the first. For notices of low
/// priority that go no further.
std::vector<Call> first_calls(const Settings& settings, const std::vector<std::string>& lists);

/// Everybody on the lists, each once, with all the ways of their steps in order.
std::vector<Call> all_calls(const Settings& settings, const std::vector<std::string>& lists);

CallRow to_row(const CallState& state, const Settings& settings);
/// Unreadable parts of the list's text are left out.
CallState from_row(const CallRow& row);

}  // namespace ebbwatch
