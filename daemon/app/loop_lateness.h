// How late the loop comes to what it should do: a timer's lateness, counted by milliseconds.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

#include "core/time.h"

namespace ebbwatch {

class LoopLateness {
 public:
  void add(Span late);
  std::uint64_t samples() const { return samples_; }
  Span longest() const { return longest_; }
  /// The least whole millisecond that at least `share` of the samples do not exceed, up to 1 s.
  Span quantile(double share) const;

 private:
  std::array<std::uint64_t, 1001> by_ms_{};  ///< The last one: longer.
  std::uint64_t samples_ = 0;
  Span longest_;
};

}  // namespace ebbwatch
