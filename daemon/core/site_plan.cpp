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

const std::string& subject_name(const WatchPlan& plan, Subject subject) {
  const std::string& id = subject_id(plan, subject);
  const auto or_id = [&id](const std::string& name) -> const std::string& {
    return name.empty() ? id : name;
  };
  if (subject.scope == Scope::controller) return or_id(plan.controllers[subject.index].name);
  if (subject.scope == Scope::tank) return or_id(plan.tanks[subject.index].name);
  return subject.scope == Scope::site ? or_id(plan.sites[subject.index].name) : id;
}

}  // namespace ebbwatch
