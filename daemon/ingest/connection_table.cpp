#include "ingest/connection_table.h"

#include <algorithm>

#include "core/invariant.h"

namespace ebbwatch {

ConnectionTable::Place ConnectionTable::place_for(const std::string& group) const {
  const auto held = per_group_.find(group);
  if (held != per_group_.end() && held->second >= most_per_group_) {
    const auto oldest = std::find_if(quiet_.begin(), quiet_.end(),
                                     [&](Id id) { return open_.at(id).group == group; });
    if (oldest == quiet_.end()) return {};
    return {.admitted = true, .make_room = *oldest};
  }
  if (open_.size() < most_) return {.admitted = true, .make_room = std::nullopt};
  if (quiet_.empty()) return {};
  return {.admitted = true, .make_room = quiet_.front()};
}

void ConnectionTable::add(Id id, const std::string& group) {
  const bool is_new = open_.emplace(id, Entry{.group = group, .quiet_place = std::nullopt}).second;
  INVARIANT(is_new);
  ++per_group_[group];
  quiet(id);
}

void ConnectionTable::quiet(Id id) {
  const auto found = open_.find(id);
  if (found == open_.end() || found->second.quiet_place) return;
  found->second.quiet_place = quiet_.insert(quiet_.end(), id);
}

void ConnectionTable::busy(Id id) {
  const auto found = open_.find(id);
  if (found == open_.end() || !found->second.quiet_place) return;
  quiet_.erase(*found->second.quiet_place);
  found->second.quiet_place.reset();
}

void ConnectionTable::remove(Id id) {
  const auto found = open_.find(id);
  if (found == open_.end()) return;
  busy(id);
  const auto group = per_group_.find(found->second.group);
  if (--group->second == 0) per_group_.erase(group);
  open_.erase(found);
}

}  // namespace ebbwatch
