// The beginning of an exercise: a made-up tank at a real site, whose only controller falls silent.
// The core that decides about real tanks decides about this one too, in virtual time. Pure.
#pragma once

#include "core/decision.h"
#include "core/site_plan.h"
#include "core/time.h"
#include "settings/settings.h"

namespace ebbwatch {

struct MadeUpLoss {
  Settings settings;  ///< One site with the real one's name, and two made-up tanks.
  WatchPlan plan;     ///< Made from them.
  /// A loss, decided at the moment that was asked for. Its instants count as wall times do.
  Decision decision;
};

/// @param number the loss's outage has it. @param decided_at when the loss shall be decided.
MadeUpLoss make_up_loss(const Settings& settings, const SiteSettings& site, OutageId number,
                        WallTime decided_at);

}  // namespace ebbwatch
