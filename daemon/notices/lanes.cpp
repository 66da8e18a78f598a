#include "notices/lanes.h"

#include <algorithm>

#include "core/invariant.h"

namespace ebbwatch {
namespace {

constexpr Span minute = Span::of_min(1);
constexpr Rank ranks[rank_count] = {Rank::alarm, Rank::chores};

}  // namespace

// Empty when there is nothing to send, or no place.
std::optional<WallTime> Lanes::next_of(const Lane& lane, Rank rank) {
  const auto& due = lane.due[static_cast<std::size_t>(rank)];
  if (lane.in_flight >= lane.limits.at_once || due.empty()) return std::nullopt;
  const WallTime first = due.begin()->first.at;
  std::size_t most = lane.limits.per_minute;
  if (most > 1 && rank == Rank::chores) most /= 2;
  if (most == 0 || lane.begun.size() < most) return first;
  return std::max(first, lane.begun[lane.begun.size() - most] + minute);
}

void Lanes::queue(const std::string& notifier, Place place, const std::string& notice) {
  auto& due = lanes_[notifier].due[static_cast<std::size_t>(place.rank)];
  const bool added = due.emplace(place, notice).second;
  INVARIANT(added);
}

void Lanes::unqueue(const std::string& notifier, Place place) {
  const std::size_t erased =
      lanes_[notifier].due[static_cast<std::size_t>(place.rank)].erase(place);
  INVARIANT(erased == 1);
}

std::optional<Lanes::Taken> Lanes::take(WallTime now) {
  for (auto& [notifier, lane] : lanes_) {
    // What is in the future was begun before the clock was set back.
    std::erase_if(lane.begun, [&](WallTime at) { return at > now || at + minute <= now; });
    for (const Rank rank : ranks) {
      const auto next = next_of(lane, rank);
      if (!next || *next > now) continue;
      if (lane.limits.per_minute > 0) lane.begun.push_back(now);
      auto& due = lane.due[static_cast<std::size_t>(rank)];
      Taken taken{notifier, due.begin()->second};
      due.erase(due.begin());
      ++lane.in_flight;
      return taken;
    }
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
    for (const Rank rank : ranks) {
      const auto first = next_of(lane, rank);
      if (first) next = std::min(next.value_or(*first), *first);
    }
  }
  return next;
}

std::size_t Lanes::queued(const std::string& notifier, WallTime now) const {
  const auto lane = lanes_.find(notifier);
  if (lane == lanes_.end()) return 0;
  const auto& chores = lane->second.due[static_cast<std::size_t>(Rank::chores)];
  std::size_t count = lane->second.due[static_cast<std::size_t>(Rank::alarm)].size();
  for (const auto& [place, notice] : chores) {
    if (place.at > now) break;
    ++count;
  }
  return count;
}

std::size_t Lanes::in_flight(const std::string& notifier) const {
  const auto lane = lanes_.find(notifier);
  return lane == lanes_.end() ? 0 : lane->second.in_flight;
}

}  // namespace ebbwatch
