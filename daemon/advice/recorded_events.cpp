#include "advice/recorded_events.h"

namespace ebbwatch::advice {

RecordedEvents::RecordedEvents(const WatchPlan& plan) {
  for (std::uint32_t i = 0; i < plan.controllers.size(); ++i) {
    controllers_.emplace(plan.controllers[i].id, i);
  }
  for (std::uint32_t i = 0; i < plan.uplink_references.size(); ++i) {
    references_.emplace(plan.uplink_references[i], i);
  }
}

Event RecordedEvents::event_of(const HeardRow& row) {
  if (const auto* heard = std::get_if<CheckInRow>(&row)) return check_in(*heard);
  return watcher(std::get<WatcherRow>(row));
}

Event RecordedEvents::check_in(const CheckInRow& row) {
  const Instant at{row.at.us};
  const auto controller = controllers_.find(row.controller);
  if (controller == controllers_.end()) {
    ++passed_over_;
    return {at, Tick{}};
  }
  CheckIn check_in;
  check_in.controller = {controller->second};
  check_in.seq = row.seq;
  check_in.uptime_s = row.uptime_s;
  check_in.power = row.power == "mains"     ? Power::mains
                   : row.power == "battery" ? Power::battery
                                            : Power::unknown;
  check_in.buffered = row.buffered;
  check_in.relayed = !row.relayed_by.empty();
  return {at, check_in};
}

Event RecordedEvents::watcher(const WatcherRow& row) {
  const Instant at{row.at.us};
  if (row.kind == "start") return {at, WatcherStarted{}};
  if (row.kind == "stop") return {at, WatcherStopped{}};
  const auto reference = references_.find(row.subject);
  if (reference != references_.end()) return {at, UplinkResult{{reference->second}, row.ok}};
  ++passed_over_;
  return {at, Tick{}};
}

}  // namespace ebbwatch::advice
