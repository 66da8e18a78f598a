#include "trace/trace_events.h"

#include <algorithm>

namespace ebbwatch {
namespace {

// FORMATS section 4: without an uplink row for so many times uplink_every a watcher was not
// running.
constexpr std::int64_t uplink_rows_missed_max = 3;

CheckIn check_in_of(const TraceRow& row, std::uint32_t controller) {
  CheckIn check_in;
  check_in.controller = {controller};
  check_in.seq = row.seq;
  check_in.uptime_s = row.uptime_s;
  check_in.power = row.power;
  check_in.buffered = row.kind == TraceKind::buffered;
  return check_in;
}

}  // namespace

TraceEvents::TraceEvents(const WatchPlan& plan) : watcher_(plan.watcher) {
  for (std::uint32_t i = 0; i < plan.controllers.size(); ++i) {
    controllers_.emplace(plan.controllers[i].id, i);
    intervals_.push_back(plan.controllers[i].interval);
  }
  for (std::uint32_t i = 0; i < plan.uplink_references.size(); ++i) {
    references_.emplace(plan.uplink_references[i], i);
  }
  const Span silence = plan.uplink_every * uplink_rows_missed_max;
  for (std::uint32_t i = 0; i < plan.witnesses.size(); ++i) {
    witness_positions_.emplace(plan.witnesses[i], i);
    witnesses_.push_back({WitnessPresence(plan.uplink_quorum, silence), false,
                          std::vector<Newest>(plan.controllers.size())});
  }
}

void TraceEvents::add(const TraceRow& row, std::vector<Event>& events) {
  if (!witnesses_.empty()) end_silent_witnesses(row.at, events);
  if (row.watcher == watcher_) return add_own(row, events);
  const auto witness = witness_positions_.find(row.watcher);
  if (witness == witness_positions_.end()) {
    ++passed_over_;
    return;
  }
  add_witness(row, witness->second, events);
}

void TraceEvents::add_own(const TraceRow& row, std::vector<Event>& events) {
  switch (row.kind) {
    case TraceKind::start:
      events.push_back({row.at, WatcherStarted{}});
      return;
    case TraceKind::stop:
      events.push_back({row.at, WatcherStopped{}});
      return;
    case TraceKind::uplink: {
      const auto reference = references_.find(row.subject);
      if (reference == references_.end()) break;
      events.push_back({row.at, UplinkResult{{reference->second}, row.answered}});
      return;
    }
    case TraceKind::check_in:
    case TraceKind::buffered: {
      const auto controller = controllers_.find(row.subject);
      if (controller == controllers_.end()) break;
      events.push_back({row.at, check_in_of(row, controller->second)});
      return;
    }
  }
  ++passed_over_;
  events.push_back({row.at, Tick{}});
}

void TraceEvents::add_witness(const TraceRow& row, std::uint32_t index,
                              std::vector<Event>& events) {
  WitnessPresence& presence = witnesses_[index].presence;
  switch (row.kind) {
    case TraceKind::start:
      presence.on_start(row.at);
      break;
    case TraceKind::stop:
      presence.on_stop();
      break;
    case TraceKind::uplink:
      presence.on_uplink(row.at, row.subject, row.answered);
      break;
    case TraceKind::check_in:
    case TraceKind::buffered:
      presence.on_heard(row.at);
      break;
  }
  tell_presence(row.at, index, events);
  if (row.kind == TraceKind::check_in) add_hearing(row, index, events);
}

void TraceEvents::add_hearing(const TraceRow& row, std::uint32_t index,
                              std::vector<Event>& events) {
  const auto controller = controllers_.find(row.subject);
  if (controller == controllers_.end()) {
    ++passed_over_;
    return;
  }
  // A stale copy is no contact for the witness either.
  Newest& newest = witnesses_[index].newest[controller->second];
  const CheckIn check_in = check_in_of(row, controller->second);
  const bool is_stale = newest.judge(check_in, row.at) == Freshness::stale &&
                        !newest.take_stale(check_in, row.at, intervals_[controller->second]);
  if (is_stale) return;
  newest.take(check_in, row.at);
  events.push_back({row.at, WitnessWord{{index}, {controller->second}, Span{}}});
}

void TraceEvents::tell_presence(Instant at, std::uint32_t index, std::vector<Event>& events) {
  Witness& witness = witnesses_[index];
  if (witness.presence.reachable() == witness.told_reachable) return;
  witness.told_reachable = witness.presence.reachable();
  events.push_back({at, WitnessReachable{{index}, witness.told_reachable}});
}

void TraceEvents::end_silent_witnesses(Instant now, std::vector<Event>& events) {
  const std::size_t first = events.size();
  for (std::uint32_t i = 0; i < witnesses_.size(); ++i) {
    const Instant gone_at = witnesses_[i].presence.gone_at();
    if (!(gone_at < now)) continue;
    witnesses_[i].presence.on_gone();
    tell_presence(gone_at, i, events);
  }
  std::stable_sort(events.begin() + static_cast<std::ptrdiff_t>(first), events.end(),
                   [](const Event& a, const Event& b) { return a.at < b.at; });
}

}  // namespace ebbwatch
