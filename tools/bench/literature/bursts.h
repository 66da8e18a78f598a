// Bursts in a stream of events: Kleinberg, "Bursty and Hierarchical Structure in Streams", KDD
// 2002. State i emits gaps at the rate (n / T) * s^i; going up one state costs gamma * ln n, down
// is free.
#pragma once

#include <vector>

namespace ebbwatch::bench {

struct BurstRules {
  double scaling = 2;  ///< s, > 1
  double gamma = 1;
  int states = 2;
};
struct Bursts {
  std::vector<int> states;  ///< One for each gap.
  double cost = 0;
};
/// The cheapest sequence of states (Viterbi). @pre times rise; at least two of them.
Bursts find_bursts(const std::vector<double>& times, const BurstRules& rules);

}  // namespace ebbwatch::bench
