#include "app/loop_lateness.h"

#include <algorithm>

namespace ebbwatch {

void LoopLateness::add(Span late) {
  const Span counted = std::max(late, Span());
  const auto up = static_cast<std::size_t>((counted.us + 999) / 1000);
  ++by_ms_[std::min(up, by_ms_.size() - 1)];
  ++samples_;
  longest_ = std::max(longest_, counted);
}

Span LoopLateness::quantile(double share) const {
  std::uint64_t below = 0;
  for (std::size_t ms = 0; ms < by_ms_.size(); ++ms) {
    below += by_ms_[ms];
    if (static_cast<double>(below) >= share * static_cast<double>(samples_)) {
      return Span::of_ms(static_cast<std::int64_t>(ms));
    }
  }
  return longest_;
}

}  // namespace ebbwatch
