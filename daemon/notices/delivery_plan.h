// One notice on its way: when to try, when to wait, when to give up. Pure: the time and the random
// number are arguments. Waits are full jitter (M. Brooker, AWS architecture blog 2015): uniform in
// [0, min(cap, first_wait * 2^(n-1))) after the n-th failed attempt.
//
// Times are wall times because they are stored. A step of the wall clock can make one wait shorter
// or, after clamp(), at most retry_after_max long; and nothing is given up without an attempt at or
// after its deadline, so a step forward costs no notice.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "core/time.h"
#include "ports/notifier.h"
#include "settings/settings.h"

namespace ebbwatch {

struct RetryPolicy {
  Span first_wait, cap;
  Span give_up;  ///< From the first due time.
};
/// Our own figures, derived for a submission server of our own and for phones: slower than RFC 5321
/// §4.5.4.1 asks between servers would make a notice worthless.
RetryPolicy retry_policy(NotifierKind kind);

/// Longest time that a server may ask us to wait.
inline constexpr Span retry_after_max = Span::of_h(1);

/// The wait before the next attempt. @param failures attempts that failed so far, >= 1.
/// @param random in [0, 1]. @param retry_after what the other side asked for, if anything.
Span wait_before_next(const RetryPolicy& policy, std::uint32_t failures, double random,
                      std::optional<Span> retry_after);

enum class DeliveryState : std::uint8_t {
  waiting,
  delivered,
  dead_letter,  ///< Refused for good, or given up at the deadline. Visible, never silent.
  withdrawn,    ///< Not needed any more before it was delivered.
};
const char* word(DeliveryState state);

struct Delivery {
  DeliveryState state = DeliveryState::waiting;
  std::uint32_t attempts = 0;  ///< Ended ones.
  WallTime due_at;             ///< When it was first due; the deadline counts from here.
  WallTime next_attempt_at;
  std::optional<WallTime> ended_at;
  std::string last_answer;
  bool in_flight = false;
  bool maybe_arrived = false;  ///< An answer was lost, or a process ended during an attempt.
  bool stop_asked = false;     ///< Withdraw as soon as the attempt in flight has failed.
};

/// A new delivery, due at once.
Delivery new_delivery(WallTime now);
/// Whether an attempt should start now.
bool is_due(const Delivery& delivery, WallTime now);
/// Marks an attempt as running. @pre waiting and not in flight. @return its number, from 1.
std::uint32_t start_attempt(Delivery& delivery);
/// Takes the answer. An `unknown` one is repeated with the same identifier like retry_later. After
/// stop_asked a failed attempt withdraws it. @pre in flight.
void end_attempt(Delivery& delivery, const RetryPolicy& policy, const Outcome& outcome,
                 WallTime now, double random);
/// Not needed any more: ends it now, or when the attempt in flight has failed.
void withdraw(Delivery& delivery, WallTime now);
/// Gives it up for a reason of our own (its notifier is gone). @pre waiting and not in flight.
void give_up(Delivery& delivery, WallTime now, std::string reason);
/// The carrier reports, after its answer, that it arrived (ends a waiting one, too) or that a
/// delivered one will not (a dead letter then). Anything else is left as it is. @pre not in flight.
/// @return whether the state changed.
bool apply_report(Delivery& delivery, bool arrived, WallTime now, std::string status);
/// After a restart or a step of the clock: no wait is longer than retry_after_max.
void clamp(Delivery& delivery, WallTime now, Span longest = retry_after_max);

const char* word(Outcome::Kind kind);

}  // namespace ebbwatch
