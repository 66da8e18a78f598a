#include "literature/bursts.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>

namespace ebbwatch::bench {
namespace {

struct Step {
  double cost;
  int from;
};

// The cheapest way into state `to`.
Step cheapest(const std::vector<double>& costs, int to, double climb) {
  Step best{std::numeric_limits<double>::infinity(), 0};
  for (int from = 0; from < static_cast<int>(costs.size()); ++from) {
    const double cost = costs[static_cast<std::size_t>(from)] + std::max(to - from, 0) * climb;
    if (cost < best.cost) best = {cost, from};
  }
  return best;
}

}  // namespace

Bursts find_bursts(const std::vector<double>& times, const BurstRules& rules) {
  const auto n = static_cast<double>(times.size() - 1);
  const double base_rate = n / (times.back() - times.front());
  const double climb = rules.gamma * std::log(n);
  const auto states = static_cast<std::size_t>(rules.states);
  std::vector<double> costs(states, std::numeric_limits<double>::infinity());
  costs[0] = 0;
  std::vector<std::vector<int>> from;
  for (std::size_t gap = 1; gap < times.size(); ++gap) {
    const double length = times[gap] - times[gap - 1];
    std::vector<double> next(states);
    from.emplace_back(states);
    for (std::size_t to = 0; to < states; ++to) {
      const double rate = base_rate * std::pow(rules.scaling, static_cast<double>(to));
      const Step step = cheapest(costs, static_cast<int>(to), climb);
      next[to] = step.cost + rate * length - std::log(rate);
      from.back()[to] = step.from;
    }
    costs = std::move(next);
  }
  const auto last = std::min_element(costs.begin(), costs.end());
  Bursts found{std::vector<int>(from.size()), *last};
  int state = static_cast<int>(last - costs.begin());
  for (std::size_t gap = from.size(); gap-- > 0;) {
    found.states[gap] = state;
    state = from[gap][static_cast<std::size_t>(state)];
  }
  return found;
}

}  // namespace ebbwatch::bench
