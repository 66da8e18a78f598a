#include "notices/lanes.h"

#include <algorithm>

#include "core/invariant.h"
#include "core/limits.h"

namespace ebbwatch {
namespace {

constexpr std::size_t places = limits::notices_in_flight_per_notifier_max;

}  // namespace

void Lanes::queue(const std::string& notifier, WallTime at, const std::string& notice) {
  lanes_[notifier].due.insert({at, notice});
}

void Lanes::unqueue(const std::string& notifier, WallTime at, const std::string& notice) {
  const std::size_t erased = lanes_[notifier].due.erase({at, notice});
  INVARIANT(erased == 1);
}

std::optional<Lanes::Taken> Lanes::take(WallTime now) {
  for (auto& [notifier, lane] : lanes_) {
    if (lane.in_flight >= places || lane.due.empty() || lane.due.begin()->first > now) continue;
    Taken taken{notifier, lane.due.begin()->second};
    lane.due.erase(lane.due.begin());
    ++lane.in_flight;
    return taken;
  }
  return std::nullopt;
}

void Lanes::free_place(const std::string& notifier) {
  Lane& lane = lanes_[notifier];
  INVARIANT(lane.in_flight > 0);
  --lane.in_flight;
}

std::optional<WallTime> Lanes::next_due() const {
  std::optional<WallTime> next;
  for (const auto& [notifier, lane] : lanes_) {
    if (lane.in_flight >= places || lane.due.empty()) continue;
    next = std::min(next.value_or(lane.due.begin()->first), lane.due.begin()->first);
  }
  return next;
}

std::size_t Lanes::queued(const std::string& notifier) const {
  const auto lane = lanes_.find(notifier);
  return lane == lanes_.end() ? 0 : lane->second.due.size();
}

std::size_t Lanes::in_flight(const std::string& notifier) const {
  const auto lane = lanes_.find(notifier);
  return lane == lanes_.end() ? 0 : lane->second.in_flight;
}

}  // namespace ebbwatch
