// Readings as a second opinion: whether one reading of one controller is outside its limits, away
// from what is usual for it, frozen, or missing, while its check-ins go on. On-delay, off-delay and
// deadband as ISA-18.2 (IEC 62682) means them.
//
// Judged only by what arrives: between check-ins nothing is decided, and after silence the delays
// go on with the first check-in. Whether anything arrives at all is the Watch's matter.
// Pure; values in the unit of the reading; instants on the caller's axis. One owner.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "core/time.h"

namespace ebbwatch {

enum class ReadingState : std::uint8_t {
  normal,
  low,          ///< Below its low limit.
  high,         ///< Above its high limit.
  below_usual,  ///< The mean of a day is too far below that of the week before.
  above_usual,
  unchanged,  ///< Always the same value: probably a stuck probe or program.
  missing,    ///< Check-ins come without it.
};
/// "below_usual"
const char* word(ReadingState state);

/// What is asked of one reading. Without anything asked it is never out of `normal`.
struct ReadingLimits {
  std::optional<double> low, high;
  double deadband = 0;  ///< So far inside a limit it must come back to count as normal.
  Span on_delay = Span::of_min(10);  ///< So long it must be outside a limit.
  Span off_delay = Span::of_min(5);  ///< So long it must be back.
  /// Shares of the usual value, above 0: .2 is "20 % more than usual". Common practice for the
  /// power that a device draws: +20 % and -10 % over a day or a week.
  std::optional<double> above_usual, below_usual;
  std::optional<Span> unchanged_for;
  /// Given by itself, so that a name that no controller sends does not pass for normal.
  Span missing_for = Span::of_h(2);
  bool operator==(const ReadingLimits&) const = default;
};

/// What must outlive the process.
struct ReadingMemory {
  ReadingState state = ReadingState::normal;
  Instant since;                ///< When what `state` says began. Meaningless while normal.
  double bound = 0;             ///< ReadingChange::bound of the change to `state`.
  std::optional<double> value;  ///< The newest.
  Instant same_since = Instant::never();  ///< Since when it is the same.
  Instant hour_began = Instant::never();  ///< Of the hour that is being summed.
  double hour_sum = 0;
  std::uint32_t hour_count = 0;
  std::vector<double> hours;  ///< Means of the newest hours with values, under two days of them.
  std::vector<double> days;   ///< Means of up to 7 days before those hours. Both oldest first.
};

struct ReadingChange {
  ReadingState was = ReadingState::normal, is = ReadingState::normal;
  Instant at;
  Instant since;                ///< When the new state began to hold.
  std::optional<double> value;  ///< The newest; of a day's mean when `is` is about the usual value.
  double bound = 0;  ///< The limit that is passed, or the usual value; 0 where there is none.
};

class ReadingJudge {
 public:
  static constexpr std::size_t day_hours = 24, week_days = 7;
  /// So many whole days must be known before a value is called unusual.
  static constexpr std::size_t days_needed = 3;

  explicit ReadingJudge(const ReadingLimits& limits, ReadingMemory memory = {});

  /// A check-in with it. @pre `at` is not before the one of the call before; `value` is finite.
  std::optional<ReadingChange> value(Instant at, double value);
  /// A check-in of its controller without it.
  std::optional<ReadingChange> absent(Instant at);

  const ReadingMemory& memory() const { return memory_; }
  ReadingState state() const { return memory_.state; }
  /// What is usual: the mean of the days before the newest 24 h. Empty: not known yet.
  std::optional<double> usual() const;
  /// The mean of the newest 24 hours; empty before there are so many.
  std::optional<double> of_a_day() const;

 private:
  ReadingState condition(Instant at, double value) const;
  ReadingState by_limits(double value) const;
  ReadingState by_usual() const;
  void learn(Instant at, double value);
  double bound_of(ReadingState state) const;
  std::optional<ReadingChange> consider(Instant at, ReadingState condition, Instant began,
                                        bool at_once);

  ReadingLimits limits_;
  ReadingMemory memory_;
  ReadingState pending_;  // What it would be after the delay.
  Instant pending_since_;
  Instant absent_since_ = Instant::never();
};

}  // namespace ebbwatch
