#include "core/site_plan.h"

#include "core/invariant.h"

namespace ebbwatch {

const std::string& subject_id(const WatchPlan& plan, Subject subject) {
  switch (subject.scope) {
    case Scope::controller:
      INVARIANT(subject.index < plan.controllers.size());
      return plan.controllers[subject.index].id;
    case Scope::tank:
      INVARIANT(subject.index < plan.tanks.size());
      return plan.tanks[subject.index].id;
    case Scope::site:
      INVARIANT(subject.index < plan.sites.size());
      return plan.sites[subject.index].id;
    case Scope::area:
      INVARIANT(subject.index < plan.areas.size());
      return plan.areas[subject.index].id;
    case Scope::provider:
      INVARIANT(subject.index < plan.providers.size());
      return plan.providers[subject.index].id;
    case Scope::watcher:
      break;
  }
  return plan.watcher;
}

}  // namespace ebbwatch
