// Assembly: builds every part, runs the loop, reloads, stops in good order.
#pragma once

#include <string>

namespace ebbwatch {

/// Runs in the foreground until SIGTERM or SIGINT; SIGHUP reloads.
/// @return 0 stopped in good order, 1 failed at work or could not start, 2 wrong configuration.
int run_daemon(const std::string& configuration_file);

}  // namespace ebbwatch
