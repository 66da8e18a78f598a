#include "advice/silences.h"

#include <algorithm>
#include <cmath>

namespace ebbwatch::advice {

std::size_t Silences::step_of(Span overdue) {
  constexpr double last = static_cast<double>(steps_per_octave * octaves - 1);
  const double seconds = std::max(overdue.seconds(), 1.0);
  return static_cast<std::size_t>(
      std::min(std::floor(std::log2(seconds) * static_cast<double>(steps_per_octave)), last));
}

void Silences::add(Span overdue) {
  ++counts_[step_of(overdue)];
}

std::uint64_t Silences::longer_than(Span overdue) const {
  std::uint64_t sum = 0;
  for (std::size_t step = step_of(overdue); step < counts_.size(); ++step) sum += counts_[step];
  return sum;
}

}  // namespace ebbwatch::advice
