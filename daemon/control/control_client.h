// The command line's end of the control socket: one blocking request.
#pragma once

#include <functional>
#include <string>

#include "core/result.h"

namespace ebbwatch {

/// @param request one line of JSON without a line end. @return the answer's line.
/// Errors: unavailable (no daemon runs there), refused (no permission), timed_out.
Result<std::string> ask_daemon(const std::string& state_dir, const std::string& request);

/// For answers of many lines: `on_line` gets each line without its end, but not the last one,
/// {"end": true}. A refusal, {"error": "…"}, comes as the only line. Errors: as above, and
/// unavailable when the daemon broke off before the end.
Result<void> ask_daemon_for_lines(const std::string& state_dir, const std::string& request,
                                  const std::function<void(const std::string&)>& on_line);

}  // namespace ebbwatch
