// When the next check-in of one controller is to be expected, from what it has really done.
//
// Chen, Toueg, Aguilera 2002, estimator NFD-E: the expected arrival is the mean over the newest 32
// arrivals of (arrival - interval * slot), plus the interval. The margin follows the measured error
// of that forecast (Bertier, Marin, Sens 2002), between a floor and half an interval. The interval
// itself is learnt: slow drift is followed, a change (new firmware, other setting) is adopted after
// a few check-ins agree, and until then the longer of the two holds.
#pragma once

#include <array>
#include <cstdint>

#include "core/time.h"

namespace ebbwatch {

/// Chen's estimator alone: a window of arrivals on a grid of slots.
class ExpectedArrival {
 public:
  static constexpr std::size_t window = 32;

  /// Forgets everything and starts the grid at `arrival`.
  void restart(Instant arrival);
  /// Adds an arrival `slots` slots after the previous one. @pre slots >= 1, interval > 0.
  void add(Instant arrival, std::int64_t slots, Span interval);
  /// Expected arrival `slots` slots after the newest one. @pre something was added.
  Instant expect(std::int64_t slots, Span interval) const;
  std::size_t count() const { return count_; }

 private:
  Span mean_residual() const;
  void rebase();

  Instant anchor_;  // grid point of the newest slot
  std::int64_t sum_us_ = 0;
  std::array<std::int32_t, window> residuals_us_{};  // arrival - its grid point
  std::uint8_t count_ = 0;
  std::uint8_t next_ = 0;
};

/// What is known about the check-in besides its time.
struct ArrivalFacts {
  std::int64_t sent_since = 0;  ///< Check-ins sent since the last heard one, by seq; 0: not known.
  bool phase_lost = false;      ///< The controller restarted, or the watcher was blind in between.
};

class Arrival {
 public:
  Arrival() = default;
  /// @pre configured > 0.
  explicit Arrival(Span configured) : interval_(configured) {}

  /// Learns from a fresh check-in.
  void heard(Instant at, ArrivalFacts facts);
  /// When the next check-in should be here at the latest, without and with margin.
  Instant expected() const { return expected_; }
  Span margin() const { return margin_; }
  /// The interval that holds for the next check-in (learnt; the longer one during a change).
  Span interval() const { return hold_longer_ && pending_ > interval_ ? pending_ : interval_; }
  /// What outlives the process.
  struct Learnt {
    Span interval;
    float sent = 0, lost = 0;  ///< Check-ins, see loss_chance(); older ones fade.
    Span error;                ///< Mean distance from the expected arrival.
  };
  Learnt learnt() const;
  void restore(const Learnt& learnt);
  /// Expect the next check-in at `at`, whatever the habit (an announcement, or a fair chance after
  /// the watcher was blind).
  void expect_at(Instant at) { expected_ = at; }

  /// Chance that a single check-in is lost on the way while all is well, from the window of the
  /// last few thousand; never below half a percent. A start value of 3 % holds until it is
  /// measured.
  double loss_chance() const;

 private:
  void learn_interval(Span gap, const ArrivalFacts& facts);
  void adopt(Span interval, Instant at);
  void learn_margin(Span error);
  void set_margin();
  void learn_loss(std::int64_t slots, const ArrivalFacts& facts);
  void follow_drift(Instant at, Span gap, const ArrivalFacts& facts);
  void forecast();

  ExpectedArrival grid_;
  Span interval_;
  Span pending_;  // a different interval that was seen and may become the new one; 0: none
  std::uint8_t pending_seen_ = 0;
  bool hold_longer_ = false;
  std::uint8_t outliers_ = 0;
  bool heard_before_ = false;
  Instant last_;
  Instant expected_ = Instant::never();
  Span margin_;
  float error_us_ = 0;
  Span last_gap_;
  Instant block_start_;
  std::int32_t block_slots_ = 0;
  float sent_ = 0;
  float lost_ = 0;
};

}  // namespace ebbwatch
