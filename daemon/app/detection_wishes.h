// What is wished of detection instead of delays, worked out from this watcher's own history. The
// history is measured once, before the loop runs; a reload uses the same measures.
#pragma once

#include <string>
#include <vector>

#include "advice/wishes.h"
#include "ports/store.h"
#include "settings/settings.h"

namespace ebbwatch {

class DetectionWishes {
 public:
  /// Reads the whole history when anything is wished, else nothing. Errors: of the store.
  Result<void> measure(Store& store, const Settings& settings);
  /// The settings with the delays that the wishes come to. Logs each, as a warning when it cannot
  /// be had.
  Settings settle(Settings settings);
  /// One sentence for each wish of the settled settings that cannot be had.
  const std::vector<std::string>& unmet() const { return unmet_; }

 private:
  advice::History history_;
  std::vector<std::string> unmet_;
};

}  // namespace ebbwatch
