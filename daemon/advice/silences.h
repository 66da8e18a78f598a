// How long a controller's silences were, in a fixed room whatever their number.
#pragma once

#include <array>
#include <cstdint>

#include "core/time.h"

namespace ebbwatch::advice {

class Silences {
 public:
  /// @param overdue from the first expected check-in that did not come to the next one that did.
  void add(Span overdue);
  /// How many may have been longer: one in whose step (4.4 % wide) `overdue` lies counts.
  std::uint64_t longer_than(Span overdue) const;
  std::uint64_t count() const { return longer_than(Span{}); }

 private:
  static constexpr std::size_t steps_per_octave = 16;
  static constexpr std::size_t octaves = 20;  // 1 s to 12 days
  static std::size_t step_of(Span overdue);

  std::array<std::uint32_t, steps_per_octave * octaves> counts_{};
};

}  // namespace ebbwatch::advice
