// Notices to any executable of the owner's: a siren, a light, a messenger that nobody thought of.
#pragma once

#include <memory>
#include <string>

#include "core/result.h"
#include "notifiers/program/child_process.h"
#include "ports/notifier.h"
#include "settings/settings.h"

namespace ebbwatch {

/// What an exit status means (sysexits.h where it has a number for it):
///   0                                     delivered
///   64 to 68, 70, 72, 73, 76 to 78        refused for good: usage, data, address, permission,
///   126, 127                              configuration; the shell found no program to run
///   everything else, 75 (EX_TEMPFAIL)     retry_later: scripts end with 1 for any passing trouble
/// Killed by a signal, or stopped at the time limit: `unknown`, since it may have done its work.
Outcome::Kind program_end_kind(const ProgramEnd& end);

/// Runs `command` for each notice, as program/notice_json.h says, in a process group of its own. At
/// the time limit (at most limits::program_time_max) the group gets TERM and, limits::program_grace
/// later or as soon as the program has ended, KILL. What it writes is the outcome's text, up to
/// limits::answer_text_bytes_max; processes that it leaves running in good order are left alone.
/// Errors: bad_input when the command is empty or is no path.
Result<std::unique_ptr<Notifier>> make_program_notifier(const ProgramSettings& settings);

}  // namespace ebbwatch
