// `ebbwatch replay --set …`: what other settings would have told.
#pragma once

#include <string>
#include <vector>

#include "cli/context.h"

namespace ebbwatch {

struct TryOut {
  std::vector<std::string> assignments;  ///< PATH=VALUE
  std::string trace;                     ///< Empty: the watcher's own recorded history.
  std::string watcher;                   ///< Of a trace; empty: the configured one.
  bool json = false;
};
/// Prints the comparison, or complains.
void try_out(Context& context, const TryOut& options);

}  // namespace ebbwatch
