#include "core/freshness.h"

#include <cmath>

namespace ebbwatch {
namespace {

/// The controller's count of seconds is whole, may lag, and the message was under way for a while.
constexpr double uptime_slack_s = 3.0;
constexpr std::uint8_t stale_run_max = 3;
/// Uptime that grows faster than time: a copy from before the last start. The one before may have
/// been under way for a while, and clocks differ.
constexpr double ahead_slack_s = 300;
constexpr double ahead_share = 1.1;
constexpr std::uint8_t ahead_run_max = 2;

}  // namespace

Freshness Newest::judge(const CheckIn& check_in, Instant at) const {
  if (at_.is_never()) return Freshness::fresh;
  const bool uptime_known = check_in.uptime_s.has_value() && uptime_s_.has_value();
  const bool fell_back = uptime_known && *check_in.uptime_s < *uptime_s_;
  // It started after it was last heard: its uptime is no longer than the time since then.
  const bool started_since =
      fell_back && *check_in.uptime_s <= (at - at_).seconds() + uptime_slack_s;
  if (started_since) return Freshness::restarted;
  // A copy from before the last start may have the higher seq; its uptime gives it away.
  if (uptime_known && *check_in.uptime_s < *uptime_s_ - uptime_slack_s) return Freshness::stale;
  if (uptime_known && runs_ahead(check_in, at)) return Freshness::stale;
  if (check_in.seq && seq_) {
    return *check_in.seq > *seq_ ? Freshness::fresh : Freshness::stale;
  }
  if (uptime_known) {
    return *check_in.uptime_s > *uptime_s_ ? Freshness::fresh : Freshness::stale;
  }
  return Freshness::fresh;
}

bool Newest::runs_ahead(const CheckIn& check_in, Instant at) const {
  return *check_in.uptime_s - *uptime_s_ > (at - at_).seconds() * ahead_share + ahead_slack_s;
}

void Newest::take(const CheckIn& check_in, Instant at) {
  if (check_in.seq) seq_ = check_in.seq;
  if (check_in.uptime_s) uptime_s_ = check_in.uptime_s;
  at_ = at;
  stale_run_ = 0;
}

bool Newest::take_stale(const CheckIn& check_in, Instant at, Span interval) {
  if (check_in.uptime_s && uptime_s_) {
    // What was believed last may have been the copy, or was under way for long: several that agree
    // with each other are right.
    const bool ahead = runs_ahead(check_in, at);
    const double passed_s = (at - stale_at_).seconds();
    const double grown_s = *check_in.uptime_s - stale_uptime_s_;
    const bool goes_on = stale_run_ > 0 && at - stale_at_ > interval / 2 &&
                         at - stale_at_ < interval * 3 &&
                         std::fabs(grown_s - passed_s) <= uptime_slack_s + passed_s / 10;
    stale_run_ = static_cast<std::uint8_t>(goes_on ? stale_run_ + 1 : 1);
    stale_uptime_s_ = *check_in.uptime_s;
    stale_at_ = at;
    return stale_run_ >= (ahead ? ahead_run_max : stale_run_max);
  }
  if (!check_in.seq || check_in.uptime_s) return false;
  const bool goes_on =
      stale_run_ > 0 && *check_in.seq == stale_seq_ + 1 && at - stale_at_ > interval / 2;
  stale_run_ = static_cast<std::uint8_t>(goes_on ? stale_run_ + 1 : 1);
  stale_seq_ = *check_in.seq;
  stale_at_ = at;
  return stale_run_ >= stale_run_max;
}

std::int64_t Newest::sent_since(const CheckIn& check_in) const {
  if (!check_in.seq || !seq_ || *check_in.seq <= *seq_) return 0;
  const std::uint64_t moved = *check_in.seq - *seq_;
  return moved > 1'000'000'000 ? 0 : static_cast<std::int64_t>(moved);
}

void Newest::restore(std::optional<std::uint64_t> seq, std::optional<double> uptime_s, Instant at) {
  seq_ = seq;
  uptime_s_ = uptime_s;
  at_ = at;
}

}  // namespace ebbwatch
