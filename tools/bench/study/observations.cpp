#include "study/observations.h"

#include <algorithm>
#include <cmath>

namespace ebbwatch::bench {

Observations::Observations(const WatchPlan& plan)
    : watcher_(plan.watcher), uplink_quorum_(plan.uplink_quorum), newest_(plan.controllers.size()) {
  for (std::uint32_t i = 0; i < plan.controllers.size(); ++i) {
    controllers_.emplace(plan.controllers[i].id, i);
    intervals_.push_back(plan.controllers[i].interval);
  }
}

void Observations::add(const TraceRow& row, std::vector<Observation>& out) {
  if (row.watcher != watcher_) return;
  switch (row.kind) {
    case TraceKind::check_in: {
      const auto found = controllers_.find(std::string(row.subject));
      if (found != controllers_.end()) add_check_in(row, found->second, out);
      return;
    }
    case TraceKind::uplink: {
      answered_[std::string(row.subject)] = row.answered;
      const auto answering = std::count_if(answered_.begin(), answered_.end(),
                                           [](const auto& one) { return one.second; });
      const bool is_up = static_cast<std::uint32_t>(answering) >= uplink_quorum_;
      const auto kind = is_up ? Observation::Kind::link_up : Observation::Kind::link_down;
      out.push_back({row.at.seconds(), kind, 0, {}});
      return;
    }
    case TraceKind::start:
      out.push_back({row.at.seconds(), Observation::Kind::started, 0, {}});
      return;
    case TraceKind::buffered:
    case TraceKind::stop:
      return;
  }
}

void Observations::add_check_in(const TraceRow& row, std::uint32_t controller,
                                std::vector<Observation>& out) {
  CheckIn check_in;
  check_in.controller = {controller};
  check_in.seq = row.seq;
  check_in.uptime_s = row.uptime_s;
  Newest& newest = newest_[controller];
  const Freshness freshness = newest.judge(check_in, row.at);
  const bool is_stale =
      freshness == Freshness::stale && !newest.take_stale(check_in, row.at, intervals_[controller]);
  if (is_stale) return;
  Heard heard;
  heard.at_s = row.at.seconds();
  heard.anew = newest.at().is_never() || freshness != Freshness::fresh;
  if (!heard.anew) {
    heard.sent = newest.sent_since(check_in);
    const double gap_s = (row.at - newest.at()).seconds();
    if (heard.sent == 0) heard.sent = std::llround(gap_s / intervals_[controller].seconds());
    heard.sent = std::max<std::int64_t>(heard.sent, 1);
  }
  newest.take(check_in, row.at);
  out.push_back({heard.at_s, Observation::Kind::heard, controller, heard});
}

}  // namespace ebbwatch::bench
