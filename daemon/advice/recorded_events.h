// Turns what a daemon has stored of its hearing back into events of the core.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>

#include "core/event.h"
#include "core/site_plan.h"
#include "ports/store.h"

namespace ebbwatch::advice {

class RecordedEvents {
 public:
  /// @param plan is read now and not kept.
  explicit RecordedEvents(const WatchPlan& plan);
  /// Instants are the microseconds of the stored wall time. Rows of controllers or references that
  /// the plan does not have give a Tick: the watcher was running.
  Event event_of(const HeardRow& row);
  std::uint64_t passed_over() const { return passed_over_; }

 private:
  Event check_in(const CheckInRow& row);
  Event watcher(const WatcherRow& row);

  std::map<std::string, std::uint32_t, std::less<>> controllers_, references_;
  std::uint64_t passed_over_ = 0;
};

}  // namespace ebbwatch::advice
