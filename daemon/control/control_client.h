// The command line's end of the control socket: one blocking request.
#pragma once

#include <string>

#include "core/result.h"

namespace ebbwatch {

/// @param request one line of JSON without a line end. @return the answer's line.
/// Errors: unavailable (no daemon runs there), refused (no permission), timed_out.
Result<std::string> ask_daemon(const std::string& state_dir, const std::string& request);

}  // namespace ebbwatch
