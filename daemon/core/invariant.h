// Checks for our own mistakes: a state that cannot be. Never for input from outside. On in release:
// the service manager restarts the daemon and nothing that was stored is lost.
#pragma once

namespace ebbwatch {

using InvariantReport = void (*)(const char* condition, const char* file, int line);

/// Called once before the process aborts; app/ installs one that logs. Default: standard error.
void set_invariant_report(InvariantReport report);
[[noreturn]] void invariant_broken(const char* condition, const char* file, int line);

}  // namespace ebbwatch

#define INVARIANT(condition)          \
  ((condition) ? static_cast<void>(0) \
               : ::ebbwatch::invariant_broken(#condition, __FILE__, __LINE__))
