// Between the core's positions and Instants and the store's identifiers and wall times.
#pragma once

#include <vector>

#include "core/watch.h"
#include "ports/clock.h"
#include "ports/store.h"

namespace ebbwatch {

ControllerRow to_row(const ControllerRecord& record, const WatchPlan& plan, const Clock& clock);
OutageRow to_row(const OutageRecord& record, const WatchPlan& plan, const Clock& clock);
/// Without the time, reason and name, which the core does not know.
ShelfRow to_row(const Shelf& shelf, const WatchPlan& plan);
Shelf to_shelf(const ShelfRow& row, Subject subject, const Clock& clock);

/// What an earlier process, or the same one under other settings, left for this plan. Controllers
/// and subjects that the plan no longer has are left out; times in the future (the wall clock was
/// set back) become now.
WatchState to_state(const StoredState& stored, const WatchPlan& plan, const Clock& clock);

/// The same across a reload: from one plan's positions to another's, by identifier.
WatchState carry_over(const WatchState& state, const WatchPlan& from, const WatchPlan& to);

}  // namespace ebbwatch
