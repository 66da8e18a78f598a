#include "core/arrival.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>

namespace ebbwatch {
namespace {

constexpr Span margin_floor = Span::of_ms(500);
constexpr float error_gain = 0.1F;           // Bertier, Marin, Sens 2002: gamma = 0.1
constexpr std::int64_t margin_errors = 4;    // same source: phi = 4
constexpr std::int64_t random_loss_run = 2;  // longer runs are outages or blips, not random loss
constexpr float counted_max = 4096;          // older history fades
constexpr float start_sent = 100;            // the start value weighs as much as so many check-ins
constexpr float start_loss = 0.03F;
constexpr double loss_floor = 0.005;
constexpr std::int32_t block_slots = 32;

bool within(Span a, Span b, double share) {
  return std::abs(static_cast<double>(a.us - b.us)) <= share * static_cast<double>(b.us);
}

Span absolute(Span span) {
  return span.us < 0 ? Span{-span.us} : span;
}

}  // namespace

void ExpectedArrival::restart(Instant arrival) {
  anchor_ = arrival;
  residuals_us_[0] = 0;
  sum_us_ = 0;
  count_ = 1;
  next_ = 1;
}

void ExpectedArrival::add(Instant arrival, std::int64_t slots, Span interval) {
  if (count_ == 0) return restart(arrival);
  anchor_ = anchor_ + interval * slots;
  const std::int64_t residual = (arrival - anchor_).us;
  if (std::llabs(residual) > 1'000'000'000) return restart(arrival);
  if (count_ == window) {
    sum_us_ -= residuals_us_[next_];
  } else {
    ++count_;
  }
  residuals_us_[next_] = static_cast<std::int32_t>(residual);
  sum_us_ += residual;
  next_ = static_cast<std::uint8_t>((next_ + 1) % window);
  if (std::llabs(mean_residual().us) > 100'000'000) rebase();
}

Span ExpectedArrival::mean_residual() const {
  return Span{sum_us_ / static_cast<std::int64_t>(count_)};
}

void ExpectedArrival::rebase() {
  // Keeps residuals small when the sender's clock drifts for months.
  const Span mean = mean_residual();
  anchor_ = anchor_ + mean;
  for (std::size_t i = 0; i < count_; ++i) {
    residuals_us_[i] -= static_cast<std::int32_t>(mean.us);
  }
  sum_us_ -= mean.us * static_cast<std::int64_t>(count_);
}

Instant ExpectedArrival::expect(std::int64_t slots, Span interval) const {
  return anchor_ + interval * slots + mean_residual();
}

void Arrival::heard(Instant at, ArrivalFacts facts) {
  if (!heard_before_ || facts.phase_lost) {
    heard_before_ = true;
    grid_.restart(at);
    block_start_ = at;
    block_slots_ = 0;
    outliers_ = 0;
    last_ = at;
    forecast();
    return;
  }
  const Span gap = at - last_;
  last_ = at;
  learn_interval(gap, facts);
  follow_drift(at, gap, facts);
  const Span late = at - grid_.expect(0, interval_);
  const std::int64_t slots = (late.us + interval_.us / 2) / interval_.us;
  if (slots < 1) return forecast();  // A batch, or an early one: tells nothing about the grid.
  learn_loss(slots, facts);
  const Span error = at - grid_.expect(slots, interval_);
  if (slots > random_loss_run + 1) {
    // After a long silence the phase is new, and how far off it is says nothing about jitter.
    grid_.restart(at);
    outliers_ = 0;
    return forecast();
  }
  learn_margin(error);
  if (absolute(error) > interval_ / 4 && grid_.count() > 2) {
    // A late one or a new phase: three in a row are a new phase.
    if (++outliers_ >= 3) {
      grid_.restart(at);
      outliers_ = 0;
    } else {
      grid_.add(at - error, slots, interval_);
    }
    return forecast();
  }
  outliers_ = 0;
  grid_.add(at, slots, interval_);
  forecast();
}

void Arrival::follow_drift(Instant at, Span gap, const ArrivalFacts& facts) {
  const std::int64_t nearest = std::max<std::int64_t>((gap + interval_ / 2).us / interval_.us, 1);
  const std::int64_t slots = facts.sent_since > 0 ? facts.sent_since : nearest;
  if (slots > block_slots || pending_seen_ > 0) {
    block_start_ = at;
    block_slots_ = 0;
    return;
  }
  block_slots_ += static_cast<std::int32_t>(slots);
  // Only an arrival as regular as the one before it may end a block: a late one would bend it.
  const Span one = gap / slots;
  const bool regular = absolute(one - last_gap_) <= interval_ / 16;
  last_gap_ = one;
  if (block_slots_ < block_slots || !regular) return;
  const Span measured = (at - block_start_) / block_slots_;
  if (!within(measured, interval_, 0.002) && within(measured, interval_, 0.25)) {
    interval_ = measured;
    grid_.restart(at);
  }
  block_start_ = at;
  block_slots_ = 0;
}

void Arrival::adopt(Span interval, Instant at) {
  interval_ = interval;
  pending_ = Span{};
  pending_seen_ = 0;
  hold_longer_ = false;
  grid_.restart(at);
  block_start_ = at;
  block_slots_ = 0;
}

void Arrival::learn_interval(Span gap, const ArrivalFacts& facts) {
  if (gap.us <= 0) return;
  const bool counted = facts.sent_since > 0;
  const Span one = counted ? gap / facts.sent_since : gap;
  if (within(one, interval_, 0.25)) {
    pending_ = Span{};
    pending_seen_ = 0;
    hold_longer_ = false;
    return;
  }
  if (one < interval_ / 20) {
    // Part of a batch: the gap before it was a hold-up, not a new interval.
    pending_seen_ = 0;
    hold_longer_ = false;
    return;
  }
  if (pending_seen_ > 0 && within(one, pending_, 0.2)) {
    ++pending_seen_;
  } else {
    pending_ = one;
    pending_seen_ = 1;
  }
  // Without seq a doubled gap is more likely a lost check-in than a new interval.
  const std::uint8_t needed = counted ? 3 : 5;
  // One late check-in is not a change either; two alike, or a doubled gap with no loss in it, may
  // be.
  hold_longer_ = pending_seen_ >= 2 || (counted && one > interval_ + interval_ / 2);
  if (pending_seen_ >= needed) adopt(one, last_);
}

Arrival::Learnt Arrival::learnt() const {
  return {interval_, sent_, lost_, Span{static_cast<std::int64_t>(error_us_)}};
}

void Arrival::restore(const Learnt& learnt) {
  if (learnt.interval.us > 0) interval_ = learnt.interval;
  if (learnt.sent >= 0 && learnt.lost >= 0 && learnt.lost <= learnt.sent) {
    sent_ = std::min(learnt.sent, counted_max);
    lost_ = std::min(learnt.lost, sent_);
  }
  error_us_ = static_cast<float>(std::max<std::int64_t>(learnt.error.us, 0));
  set_margin();
}

void Arrival::learn_margin(Span error) {
  const float size = std::fabs(static_cast<float>(error.us));
  error_us_ += error_gain * (size - error_us_);
  set_margin();
}

void Arrival::set_margin() {
  const Span wanted{static_cast<std::int64_t>(error_us_) * margin_errors};
  margin_ = std::clamp(wanted, margin_floor, std::max(margin_floor, interval_ / 2));
}

void Arrival::learn_loss(std::int64_t slots, const ArrivalFacts& facts) {
  const std::int64_t sent = facts.sent_since > 0 ? facts.sent_since : slots;
  if (sent - 1 > random_loss_run) return;
  sent_ += static_cast<float>(sent);
  lost_ += static_cast<float>(sent - 1);
  if (sent_ > counted_max) {
    sent_ /= 2;
    lost_ /= 2;
  }
}

double Arrival::loss_chance() const {
  const double chance = (lost_ + start_loss * start_sent) / (sent_ + start_sent);
  return std::max(chance, loss_floor);
}

void Arrival::forecast() {
  margin_ = std::max(margin_, std::max(margin_floor, interval_ / 50));
  const Instant by_grid = grid_.expect(1, interval_);
  // Never sooner than half an interval after the newest one, and during a change of interval not
  // before the longer of the two (RFC 5880 section 6.8.4 has the same rule).
  const Instant by_gap = last_ + (interval() > interval_ ? interval() : interval_ / 2);
  expected_ = std::max(by_grid, by_gap);
}

}  // namespace ebbwatch
