#include "study/truth_table.h"

#include <algorithm>
#include <optional>
#include <string>

#include "trace/summary.h"

namespace ebbwatch::bench {
namespace {

std::optional<Subject> find_subject(const WatchPlan& plan, Scope scope, const std::string& id) {
  if (scope == Scope::watcher) return Subject{scope, 0};
  const auto in = [&](const auto& items) -> std::optional<Subject> {
    for (std::uint32_t i = 0; i < items.size(); ++i) {
      if (items[i].id == id) return Subject{scope, i};
    }
    return std::nullopt;
  };
  if (scope == Scope::controller) return in(plan.controllers);
  if (scope == Scope::tank) return in(plan.tanks);
  if (scope == Scope::site) return in(plan.sites);
  return in(scope == Scope::area ? plan.areas : plan.providers);
}

// How long an outage must last to be one that has to be told (trace/summary.h, SummaryRules).
double needed_s(const WatchPlan& plan, const std::vector<std::uint32_t>& controllers) {
  constexpr double on_top_s = 120;
  double needed = SummaryRules{}.must_report_s;
  for (const std::uint32_t c : controllers) {
    const double interval_s = plan.controllers[c].interval.seconds();
    const Detection& detection = plan.controllers[c].detection;
    needed = std::max({needed, interval_s + detection.on_delay.seconds() + on_top_s,
                       (detection.min_missed + 2) * interval_s});
  }
  return needed;
}

double seen_s(const TruthRow& row, const std::vector<TruthRow>& truth) {
  double seen = row.end_s - row.start_s;
  for (const TruthRow& other : truth) {
    if (other.kind != TruthRow::Kind::watcher) continue;
    seen -= std::max(0.0, std::min(row.end_s, other.end_s) - std::max(row.start_s, other.start_s));
  }
  return seen;
}

}  // namespace

std::vector<std::uint32_t> controllers_of(const WatchPlan& plan, Subject subject) {
  std::vector<std::uint32_t> all;
  for (std::uint32_t c = 0; c < plan.controllers.size(); ++c) {
    const TankIndex tank = plan.controllers[c].tank;
    const SiteIndex site = plan.tanks[tank.value].site;
    const SitePlan& site_plan = plan.sites[site.value];
    const bool covers =
        subject.scope == Scope::watcher ||
        (subject.scope == Scope::controller && subject.index == c) ||
        (subject.scope == Scope::tank && subject.index == tank.value) ||
        (subject.scope == Scope::site && subject.index == site.value) ||
        (subject.scope == Scope::area && subject.index == site_plan.area.value) ||
        (subject.scope == Scope::provider && subject.index == site_plan.provider.value);
    if (covers) all.push_back(c);
  }
  return all;
}

TruthTable::TruthTable(const WatchPlan& plan, const std::vector<TruthRow>& truth)
    : by_controller_(plan.controllers.size()) {
  for (const TruthRow& row : truth) {
    const auto subject = find_subject(plan, row.scope, row.subject);
    if (!subject) continue;
    RealEvent event{&row, controllers_of(plan, *subject), 0, false};
    for (const std::uint32_t c : event.controllers) {
      event.grace_s = std::max(event.grace_s, 2 * plan.controllers[c].interval.seconds());
    }
    event.must = row.kind == TruthRow::Kind::outage &&
                 seen_s(row, truth) >= needed_s(plan, event.controllers);
    events_.push_back(std::move(event));
  }
  std::stable_sort(events_.begin(), events_.end(), [](const RealEvent& a, const RealEvent& b) {
    return a.row->start_s < b.row->start_s;
  });
  for (std::uint32_t i = 0; i < events_.size(); ++i) {
    for (const std::uint32_t c : events_[i].controllers) by_controller_[c].push_back(i);
  }
}

}  // namespace ebbwatch::bench
