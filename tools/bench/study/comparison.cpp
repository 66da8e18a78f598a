#include "study/comparison.h"

#include <algorithm>
#include <cmath>

namespace ebbwatch::bench {
namespace {

constexpr double real_median_s = 15 * 60;

double own_median_s(const OwnPoint& own) {
  return own.summary.detection_percentile(0.5).value_or(-1);
}

std::uint64_t notices_of(const OwnPoint& own) {
  return own.summary.decisions.at("loss") + own.summary.decisions.at("unsteady");
}

std::uint64_t needless(const OwnPoint& own) {
  return own.summary.false_losses + own.summary.excess_notices;
}

std::string counts(std::uint64_t own, std::uint64_t best) {
  return std::to_string(own) + " against " + std::to_string(best);
}

Goal fewer_false(std::uint64_t own, std::uint64_t best, std::uint64_t times) {
  const std::string head = "false losses " + counts(own, best);
  if (best == 0) {
    return {own == 0, head + (own == 0 ? ": a tuned textbook detector has none either"
                                       : ": a tuned textbook detector has none")};
  }
  return {own * times <= best, head + ", wanted " + std::to_string(times) + " times fewer"};
}

}  // namespace

std::optional<Match> match(const Study& study, const OwnPoint& own, bool only_plain) {
  Match found{own_median_s(own), notices_of(own), nullptr};
  if (found.median_s < 0) return std::nullopt;
  for (const ReferencePoint& reference : study.references) {
    const Figures& figures = reference.figures;
    const double median_s = figures.detection_percentile(0.5);
    if (only_plain && reference.holds) continue;
    if (median_s < 0 || median_s > found.median_s + speed_slack_s) continue;
    const auto rank = [](const Figures& f) { return std::pair(f.false_losses, f.notices); };
    if (found.best == nullptr || rank(figures) < rank(found.best->figures)) found.best = &reference;
  }
  return found;
}

std::vector<const ReferencePoint*> frontier(const Study& study, Family family, bool holds) {
  std::vector<const ReferencePoint*> all;
  for (const ReferencePoint& reference : study.references) {
    const bool belongs = reference.family == family && reference.holds == holds &&
                         reference.figures.detection_percentile(0.5) >= 0;
    if (belongs) all.push_back(&reference);
  }
  const auto rank = [](const ReferencePoint* point) {
    return std::pair(point->figures.detection_percentile(0.5), point->figures.false_losses);
  };
  std::stable_sort(all.begin(), all.end(),
                   [&](const auto* a, const auto* b) { return rank(a) < rank(b); });
  std::vector<const ReferencePoint*> best;
  for (const ReferencePoint* point : all) {
    if (best.empty() || point->figures.false_losses < best.back()->figures.false_losses) {
      best.push_back(point);
    }
  }
  return best;
}

const OwnPoint* nearest(const Study& study, double median_s) {
  const OwnPoint* best = nullptr;
  const auto distance = [&](const OwnPoint& own) {
    return std::fabs(own_median_s(own) - median_s);
  };
  for (const OwnPoint& own : study.own) {
    if (own_median_s(own) < 0) continue;
    if (best == nullptr || distance(own) < distance(*best)) best = &own;
  }
  return best;
}

std::vector<Goal> goals(const Study& study, bool is_real) {
  std::vector<Goal> all;
  const OwnPoint& configured = study.own.front();
  const OwnPoint* own = is_real ? nearest(study, real_median_s) : &configured;
  const auto found = own == nullptr ? std::nullopt : match(study, *own);
  if (!found) {
    const std::uint64_t told = notices_of(configured);
    all.push_back({told == 0, "nothing to detect here; told " + std::to_string(told)});
    return all;
  }
  if (found->best == nullptr) {
    all.push_back({true, "no textbook detector is as fast"});
    return all;
  }
  const Figures& best = found->best->figures;
  all.push_back(fewer_false(own->summary.false_losses, best.false_losses, is_real ? 5 : 10));
  const std::uint64_t own_needless = needless(*own);
  const std::uint64_t best_needless = best.false_losses + best.excess_notices;
  all.push_back({own_needless <= best_needless,
                 "needless notices " + counts(own_needless, best_needless) +
                     ", wanted no more; in all " + counts(found->notices, best.notices)});
  return all;
}

}  // namespace ebbwatch::bench
