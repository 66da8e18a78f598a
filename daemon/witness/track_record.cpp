#include "witness/track_record.h"

#include <bit>

namespace ebbwatch {
namespace {

/// Fewer questions than this tell nothing of a witness.
constexpr std::uint32_t told_from = 4;
constexpr std::uint32_t wrong_from = 2;

}  // namespace

bool Testimonies::often_wrong() const {
  if (wrong >= wrong_from && wrong * 2 >= agreed) return true;
  return answered >= told_from && disagreed * 2 > answered;
}

void TrackRecord::question_over(ControllerIndex controller, std::uint32_t answered,
                                std::uint32_t hears, std::uint32_t failed, Instant at) {
  // This watcher itself hears nothing.
  const int voters = std::popcount(answered) + 1;
  const bool heard = std::popcount(hears) * 2 > voters;
  const bool even = std::popcount(hears) * 2 == voters;
  if (hears != 0) claims_[controller] |= hears;
  for (std::uint32_t i = 0; i < of_.size(); ++i) {
    const std::uint32_t bit = 1U << i;
    Testimonies& it = of_[i];
    if (failed & bit) ++it.failed;
    if (!(answered & bit)) continue;
    ++it.answered;
    if (even) continue;  // Nobody can say who is right.
    const bool says = (hears & bit) != 0;
    if (says == heard) {
      ++it.agreed;
      continue;
    }
    ++it.disagreed;
    if (it.newest.size() == disagreements_kept) it.newest.erase(it.newest.begin());
    it.newest.push_back({at, controller, says});
  }
}

void TrackRecord::returned(ControllerIndex controller, bool was_off) {
  const auto found = claims_.find(controller);
  if (found == claims_.end()) return;
  for (std::uint32_t i = 0; i < of_.size(); ++i) {
    if (was_off && (found->second & 1U << i)) ++of_[i].wrong;
  }
  claims_.erase(found);
}

}  // namespace ebbwatch
