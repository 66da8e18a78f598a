#include "trace/summary.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace ebbwatch {
namespace {

constexpr double never_s = std::numeric_limits<double>::infinity();
constexpr double year_s = 365.0 * 86'400;

// Which controllers belong to a subject.
class Members {
 public:
  explicit Members(const WatchPlan& plan) : plan_(plan) {}

  bool contains(Subject subject, std::uint32_t controller) const {
    const TankIndex tank = plan_.controllers[controller].tank;
    const SiteIndex site = plan_.tanks[tank.value].site;
    switch (subject.scope) {
      case Scope::controller:
        return subject.index == controller;
      case Scope::tank:
        return subject.index == tank.value;
      case Scope::site:
        return subject.index == site.value;
      case Scope::area:
        return subject.index == plan_.sites[site.value].area.value;
      case Scope::provider:
        return subject.index == plan_.sites[site.value].provider.value;
      case Scope::watcher:
        return true;
    }
    return false;
  }
  std::vector<std::uint32_t> of(Subject subject) const {
    std::vector<std::uint32_t> all;
    for (std::uint32_t c = 0; c < plan_.controllers.size(); ++c) {
      if (contains(subject, c)) all.push_back(c);
    }
    return all;
  }
  std::optional<Subject> find(Scope scope, const std::string& id) const {
    const auto in = [&](const auto& items) -> std::optional<Subject> {
      for (std::uint32_t i = 0; i < items.size(); ++i) {
        if (items[i].id == id) return Subject{scope, i};
      }
      return std::nullopt;
    };
    switch (scope) {
      case Scope::controller:
        return in(plan_.controllers);
      case Scope::tank:
        return in(plan_.tanks);
      case Scope::site:
        return in(plan_.sites);
      case Scope::area:
        return in(plan_.areas);
      case Scope::provider:
        return in(plan_.providers);
      case Scope::watcher:
        return Subject{Scope::watcher, 0};
    }
    return std::nullopt;
  }

 private:
  const WatchPlan& plan_;
};

// One row of the truth with what the plan knows of it.
struct Real {
  const TruthRow* row;
  Subject subject;
  std::vector<std::uint32_t> controllers;
  double grace_s = 0;  ///< A loss may be decided before the first check-in after the end.
  bool must = false;
  std::vector<std::size_t> told;  ///< Outages whose best fit this is, in order of time.
};

class Judge {
 public:
  Judge(const WatchPlan& plan, const DecisionLog& log, const std::vector<TruthRow>& truth,
        const SummaryRules& rules, ReplaySummary& out)
      : plan_(plan), members_(plan), log_(log), rules_(rules), out_(out) {
    for (const TruthRow& row : truth) add(row);
  }

  void judge() {
    for (std::size_t i = 0; i < log_.outages().size(); ++i) judge_loss(i);
    for (const Real& real : reals_) {
      if (real.row->kind == TruthRow::Kind::blip) ++out_.blips;
      if (real.row->kind == TruthRow::Kind::outage) judge_outage(real);
    }
    std::sort(out_.detection_s.begin(), out_.detection_s.end());
  }

 private:
  void add(const TruthRow& row) {
    const auto subject = members_.find(row.scope, row.subject);
    if (!subject) return;  // Not in this configuration: nobody watches it.
    Real real{&row, *subject, members_.of(*subject), 0, false, {}};
    for (const std::uint32_t c : real.controllers) {
      real.grace_s = std::max(real.grace_s, 2 * plan_.controllers[c].interval.seconds());
    }
    if (row.kind == TruthRow::Kind::watcher) blind_.push_back(&row);
    reals_.push_back(std::move(real));
  }

  bool related(Subject told, const Real& real) const {
    return std::any_of(real.controllers.begin(), real.controllers.end(),
                       [&](std::uint32_t c) { return members_.contains(told, c); });
  }
  static double end_of(const ToldOutage& told) { return told.recovered_s.value_or(never_s); }

  // Whether the loss can have been decided because of this.
  bool fits(const ToldOutage& told, const Real& real) const {
    const TruthRow& row = *real.row;
    if (told.told_s < row.start_s) return false;
    if (told.since_s >= row.end_s && told.told_s > row.end_s + real.grace_s) return false;
    return related(told.subject, real);
  }

  Real* best_fit(const ToldOutage& told, TruthRow::Kind kind) {
    Real* best = nullptr;
    double best_overlap = -1;
    for (Real& real : reals_) {
      if (real.row->kind != kind || !fits(told, real)) continue;
      const double overlap =
          std::min(end_of(told), real.row->end_s) - std::max(told.since_s, real.row->start_s);
      if (best != nullptr && overlap <= best_overlap) continue;
      best = &real;
      best_overlap = overlap;
    }
    return best;
  }

  void judge_loss(std::size_t position) {
    const ToldOutage& told = log_.outages()[position];
    const bool was_blind = std::any_of(blind_.begin(), blind_.end(), [&](const TruthRow* row) {
      return row->start_s <= told.told_s && told.told_s <= row->end_s;
    });
    if (was_blind) ++out_.decided_while_blind;
    if (Real* real = best_fit(told, TruthRow::Kind::outage)) {
      ++(real->told.empty() ? out_.true_losses : out_.excess_notices);
      real->told.push_back(position);
      const bool is_open = told.recovered_s && *told.recovered_s < real->row->end_s;
      if (is_open) ++out_.premature_recoveries;
      return;
    }
    if (best_fit(told, TruthRow::Kind::unknown) != nullptr) {
      ++out_.unjudged_losses;
      return;
    }
    if (best_fit(told, TruthRow::Kind::watcher) != nullptr)
      ++out_.blind_losses;
    else if (best_fit(told, TruthRow::Kind::blip) != nullptr)
      ++out_.blips_told;
    ++out_.false_losses;
    out_.false_ones.push_back(told);
  }

  double seen_s(const TruthRow& row) const {
    double seen = row.end_s - row.start_s;
    for (const TruthRow* blind : blind_) {
      seen -=
          std::max(0.0, std::min(row.end_s, blind->end_s) - std::max(row.start_s, blind->start_s));
    }
    return seen;
  }

  double needed_s(const Real& real) const {
    double needed = rules_.must_report_s;
    for (const std::uint32_t c : real.controllers) {
      const ControllerPlan& controller = plan_.controllers[c];
      const double interval_s = controller.interval.seconds();
      const Detection& detection = controller.detection;
      needed = std::max({needed, interval_s + detection.on_delay.seconds() + 120,
                         (detection.min_missed + 2) * interval_s});
    }
    return needed;
  }

  // Whether people knew of it: by its own loss, a wider or longer outage, or as an unsteady source.
  bool was_told(const Real& real) const {
    if (!real.told.empty()) return true;
    const TruthRow& row = *real.row;
    const auto covers = [&](const ToldOutage& told) {
      return told.told_s <= row.end_s + real.grace_s && end_of(told) >= row.start_s &&
             related(told.subject, real);
    };
    const auto holds_back = [&](const UnsteadySpell& spell) {
      return spell.from_s <= row.end_s + real.grace_s &&
             spell.until_s.value_or(never_s) >= row.start_s && related(spell.subject, real);
    };
    return std::any_of(log_.outages().begin(), log_.outages().end(), covers) ||
           std::any_of(log_.spells().begin(), log_.spells().end(), holds_back);
  }

  void judge_outage(const Real& real) {
    const bool found = was_told(real);
    if (seen_s(*real.row) < needed_s(real)) {
      ++out_.optional_outages;
      if (found) ++out_.optional_found;
      return;
    }
    ++out_.outages;
    if (!found) {
      ++out_.outages_missed;
      out_.missed.push_back(*real.row);
      return;
    }
    ++out_.outages_found;
    if (real.told.empty()) return;
    const ToldOutage& first = log_.outages()[real.told.front()];
    out_.detection_s.push_back(first.told_s - real.row->start_s);
    ++out_.scopes_judged;
    // A site with one controller is lost as a site, whatever the truth calls it.
    if (members_.of(first.subject) == real.controllers) ++out_.scopes_right;
    if (real.row->cause == word(Cause::undetermined)) return;
    ++out_.causes_judged;
    if (real.row->cause == word(first.cause)) ++out_.causes_right;
  }

  const WatchPlan& plan_;
  Members members_;
  const DecisionLog& log_;
  const SummaryRules& rules_;
  ReplaySummary& out_;
  std::vector<Real> reals_;
  std::vector<const TruthRow*> blind_;
};

}  // namespace

void DecisionLog::add(const Decision& decision) {
  ++counts_[decision.kind];
  const double at_s = decision.at.seconds();
  if (decision.kind == DecisionKind::watch_gap) return;
  if (decision.kind == DecisionKind::unsteady) {
    spells_.push_back({decision.subject, at_s, std::nullopt});
    return;
  }
  if (decision.kind == DecisionKind::steady) {
    for (UnsteadySpell& spell : spells_) {
      if (spell.subject == decision.subject && !spell.until_s) spell.until_s = at_s;
    }
    return;
  }
  if (decision.kind == DecisionKind::loss) {
    positions_[decision.outage] = outages_.size();
    outages_.push_back({decision.outage, decision.subject, at_s, decision.since.seconds(),
                        std::nullopt, decision.cause});
    return;
  }
  const auto known = positions_.find(decision.outage);
  if (known == positions_.end()) return;
  ToldOutage& told = outages_[known->second];
  told.subject = decision.subject;
  told.cause = decision.cause;
  if (decision.kind == DecisionKind::recovery) told.recovered_s = at_s;
}

std::uint64_t DecisionLog::count(DecisionKind kind) const {
  const auto found = counts_.find(kind);
  return found == counts_.end() ? 0 : found->second;
}

std::optional<double> ReplaySummary::detection_percentile(double share) const {
  if (detection_s.empty()) return std::nullopt;
  const auto rank =
      static_cast<std::size_t>(std::ceil(share * static_cast<double>(detection_s.size()) - 1e-9));
  return detection_s[std::max<std::size_t>(rank, 1) - 1];
}

ReplaySummary summarize(const WatchPlan& plan, const DecisionLog& log,
                        const std::vector<TruthRow>* truth, double length_s,
                        const SummaryRules& rules) {
  ReplaySummary out;
  out.length_s = length_s;
  out.tank_years = static_cast<double>(plan.tanks.size()) * length_s / year_s;
  for (const DecisionKind kind :
       {DecisionKind::loss, DecisionKind::recovery, DecisionKind::cause_revised,
        DecisionKind::watch_gap, DecisionKind::unsteady, DecisionKind::steady}) {
    out.decisions[word(kind)] = log.count(kind);
  }
  if (truth == nullptr) return out;
  out.has_truth = true;
  Judge(plan, log, *truth, rules, out).judge();
  return out;
}

}  // namespace ebbwatch
