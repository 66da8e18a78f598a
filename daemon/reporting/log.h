// The daemon's log: one line per event with a stable name, to standard error or the journal. The
// only user of spdlog. Not for core, parsers or notifiers: those return what happened, and app/
// logs it.
#pragma once

#include <functional>
#include <string>
#include <string_view>

namespace ebbwatch {

/// error: somebody must act. warning: we went on, but look. info: something changed. debug: the
/// rest.
enum class Level { debug, info, warning, error };

/// Call once, before the first say(). Under the journal (JOURNAL_STREAM is set) lines carry a
/// priority and no time, since the journal has its own.
void open_log(Level least, bool under_journal);

/// @param event stable name for programs, one of event_names.h. @param text one sentence for
/// people; control characters in it, line ends too, become spaces. Repeats of the very same line
/// within a minute are counted, not printed; the count follows with the next other line of that
/// event.
void say(Level level, std::string_view event, const std::string& text);

/// Outside text made safe for a line: in single quotes, with \' and \\ for those within; control
/// characters and bytes that are not ASCII text shown as \xNN unless they are valid UTF-8, at most
/// 200 bytes and then "…".
std::string quoted(std::string_view outside);

/// Tests see every line instead of standard error; empty function: back to standard error.
void capture_log(std::function<void(Level, std::string_view event, const std::string& text)> sink);

}  // namespace ebbwatch
