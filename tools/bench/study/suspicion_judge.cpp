#include "study/suspicion_judge.h"

#include <algorithm>
#include <cmath>

namespace ebbwatch::bench {

double Figures::detection_percentile(double share) const {
  if (detection_s.empty()) return -1;
  const double rank = std::ceil(share * static_cast<double>(detection_s.size()) - 1e-9);
  return detection_s[static_cast<std::size_t>(std::max(rank, 1.0)) - 1];
}

SuspicionJudge::SuspicionJudge(const TruthTable& truth, std::size_t controllers)
    : truth_(truth), told_(truth.events().size()), begins_(controllers) {
  figures_.false_by_controller.resize(controllers);
}

const RealEvent* SuspicionJudge::best_fit(const Suspicion& suspicion, TruthRow::Kind kind) const {
  const auto& positions = truth_.of(suspicion.controller);
  const RealEvent* best = nullptr;
  double best_overlap = -1;
  for (std::size_t i = begins_[suspicion.controller]; i < positions.size(); ++i) {
    const RealEvent& event = truth_.events()[positions[i]];
    if (event.row->start_s > suspicion.raised_s) break;
    const bool fits = suspicion.since_s < event.row->end_s ||
                      suspicion.raised_s <= event.row->end_s + event.grace_s;
    if (event.row->kind != kind || !fits) continue;
    const double overlap = std::min(suspicion.trusted_s, event.row->end_s) -
                           std::max(suspicion.since_s, event.row->start_s);
    if (best != nullptr && overlap <= best_overlap) continue;
    best = &event;
    best_overlap = overlap;
  }
  return best;
}

void SuspicionJudge::add(const Suspicion& suspicion) {
  ++figures_.notices;
  const auto& positions = truth_.of(suspicion.controller);
  std::size_t& begin = begins_[suspicion.controller];
  const auto is_over = [&](const RealEvent& event) {
    return event.row->end_s + event.grace_s < suspicion.since_s;
  };
  while (begin < positions.size() && is_over(truth_.events()[positions[begin]])) ++begin;
  for (std::size_t i = begin; i < positions.size(); ++i) {
    const RealEvent& event = truth_.events()[positions[i]];
    if (event.row->start_s > suspicion.trusted_s) break;
    if (suspicion.raised_s <= event.row->end_s + event.grace_s) told_[positions[i]].covered = true;
  }
  if (const RealEvent* event = best_fit(suspicion, TruthRow::Kind::outage)) {
    Told& told = told_[static_cast<std::size_t>(event - truth_.events().data())];
    if (told.count++ == 0 || suspicion.raised_s < told.first_s) told.first_s = suspicion.raised_s;
    if (told.count > 1) ++figures_.excess_notices;
  } else if (best_fit(suspicion, TruthRow::Kind::unknown) != nullptr) {
    ++figures_.unjudged;
  } else {
    ++figures_.false_losses;
    ++figures_.false_by_controller[suspicion.controller];
  }
}

Figures SuspicionJudge::figures() const {
  Figures out = figures_;
  for (std::size_t i = 0; i < told_.size(); ++i) {
    const RealEvent& event = truth_.events()[i];
    if (!event.must) continue;
    ++out.outages;
    if (told_[i].count > 0) {
      out.detection_s.push_back(told_[i].first_s - event.row->start_s);
    } else if (!told_[i].covered) {
      ++out.missed;
    }
  }
  std::sort(out.detection_s.begin(), out.detection_s.end());
  return out;
}

}  // namespace ebbwatch::bench
