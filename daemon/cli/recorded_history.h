// Where advise and replay get a history from: the daemon's own store, or a trace file.
#pragma once

#include <functional>
#include <memory>
#include <string>

#include "advice/meter.h"
#include "core/event.h"
#include "core/result.h"
#include "core/site_plan.h"
#include "ports/store.h"

namespace ebbwatch {

/// Opens the store of a state folder beside a daemon that may run. Errors: not_found when nothing
/// was ever stored there (nothing is made then); those of open_store.
Result<std::unique_ptr<Store>> open_recorded(const std::string& state_dir);

using EventSink = std::function<void(const Event&)>;
/// Feeds the whole history of a store, in time order. @return how many rows there were.
Result<std::uint64_t> feed_recorded(Store& store, const WatchPlan& plan, const EventSink& sink);
/// Feeds a trace as the plan's watcher heard it. Errors: of the trace.
Result<std::uint64_t> feed_trace(const std::string& path, const WatchPlan& plan,
                                 const EventSink& sink);

Result<advice::History> measure_recorded(Store& store, const WatchPlan& plan);
Result<advice::History> measure_trace(const std::string& path, const WatchPlan& plan);

}  // namespace ebbwatch
