#include "notices/lanes.h"

#include <algorithm>

#include "core/invariant.h"
#include "core/limits.h"

namespace ebbwatch {
namespace {

constexpr std::size_t places = limits::notices_in_flight_per_notifier_max;

}  // namespace

void Lanes::queue(const std::string& notifier, Place place, const std::string& notice) {
  const bool added = lanes_[notifier].due.emplace(place, notice).second;
  INVARIANT(added);
}

void Lanes::unqueue(const std::string& notifier, Place place) {
  const std::size_t erased = lanes_[notifier].due.erase(place);
  INVARIANT(erased == 1);
}

std::optional<Lanes::Taken> Lanes::take(WallTime now) {
  for (auto& [notifier, lane] : lanes_) {
    if (lane.in_flight >= places || lane.due.empty() || lane.due.begin()->first.at > now) continue;
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
    const WallTime first = lane.due.begin()->first.at;
    next = std::min(next.value_or(first), first);
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
