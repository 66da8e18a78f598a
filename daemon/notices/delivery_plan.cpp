#include "notices/delivery_plan.h"

#include <algorithm>
#include <utility>

#include "core/invariant.h"

namespace ebbwatch {

RetryPolicy retry_policy(NotifierKind kind) {
  switch (kind) {
    case NotifierKind::email:
      return {Span::of_s(15), Span::of_min(10), Span::of_h(6)};
    case NotifierKind::webhook:
      return {Span::of_s(5), Span::of_min(15), Span::of_h(6)};
    case NotifierKind::sms_gateway:
    case NotifierKind::gsm_modem:
      return {Span::of_s(10), Span::of_min(5), Span::of_h(1)};
    case NotifierKind::program:
      break;
  }
  return {Span::of_s(5), Span::of_min(5), Span::of_h(1)};
}

Span wait_before_next(const RetryPolicy& policy, std::uint32_t failures, double random,
                      std::optional<Span> retry_after) {
  INVARIANT(failures >= 1);
  Span ceiling = policy.first_wait;
  for (std::uint32_t n = 1; n < failures && ceiling < policy.cap; ++n) ceiling = ceiling * 2;
  ceiling = std::min(ceiling, policy.cap);
  Span wait = Span::of_seconds(ceiling.seconds() * std::clamp(random, 0.0, 1.0));
  if (retry_after) wait = std::max(wait, std::min(*retry_after, retry_after_max));
  return wait;
}

const char* word(DeliveryState state) {
  switch (state) {
    case DeliveryState::waiting:
      return "waiting";
    case DeliveryState::delivered:
      return "delivered";
    case DeliveryState::dead_letter:
      return "dead_letter";
    case DeliveryState::withdrawn:
      return "withdrawn";
  }
  return "waiting";
}

const char* word(Outcome::Kind kind) {
  switch (kind) {
    case Outcome::Kind::delivered:
      return "delivered";
    case Outcome::Kind::retry_later:
      return "retry_later";
    case Outcome::Kind::rejected_forever:
      return "rejected_forever";
    case Outcome::Kind::unknown:
      return "unknown";
  }
  return "unknown";
}

namespace {

void end(Delivery& delivery, DeliveryState state, WallTime now) {
  delivery.state = state;
  delivery.ended_at = now;
}

}  // namespace

Delivery new_delivery(WallTime now) {
  Delivery delivery;
  delivery.due_at = now;
  delivery.next_attempt_at = now;
  return delivery;
}

bool is_due(const Delivery& delivery, WallTime now) {
  return delivery.state == DeliveryState::waiting && !delivery.in_flight &&
         delivery.next_attempt_at <= now;
}

std::uint32_t start_attempt(Delivery& delivery) {
  INVARIANT(delivery.state == DeliveryState::waiting && !delivery.in_flight);
  delivery.in_flight = true;
  return delivery.attempts + 1;
}

void end_attempt(Delivery& delivery, const RetryPolicy& policy, const Outcome& outcome,
                 WallTime now, double random) {
  INVARIANT(delivery.in_flight);
  delivery.in_flight = false;
  ++delivery.attempts;
  delivery.last_answer = outcome.answer;
  if (outcome.kind == Outcome::Kind::unknown) delivery.maybe_arrived = true;
  if (outcome.kind == Outcome::Kind::delivered) return end(delivery, DeliveryState::delivered, now);
  if (delivery.stop_asked) return end(delivery, DeliveryState::withdrawn, now);
  const WallTime deadline = delivery.due_at + policy.give_up;
  if (outcome.kind == Outcome::Kind::rejected_forever || now >= deadline) {
    return end(delivery, DeliveryState::dead_letter, now);
  }
  const Span wait = wait_before_next(policy, delivery.attempts, random, outcome.retry_after);
  delivery.next_attempt_at = now + wait;
  if (delivery.next_attempt_at > deadline) {
    // The last attempt is at the deadline, unless the other side asked for later.
    const Span asked = std::min(outcome.retry_after.value_or(Span{}), retry_after_max);
    delivery.next_attempt_at = std::max(deadline, now + asked);
  }
}

void withdraw(Delivery& delivery, WallTime now) {
  if (delivery.state != DeliveryState::waiting) return;
  if (delivery.in_flight) {
    delivery.stop_asked = true;
  } else {
    end(delivery, DeliveryState::withdrawn, now);
  }
}

void give_up(Delivery& delivery, WallTime now, std::string reason) {
  INVARIANT(delivery.state == DeliveryState::waiting && !delivery.in_flight);
  delivery.last_answer = std::move(reason);
  end(delivery, DeliveryState::dead_letter, now);
}

bool apply_report(Delivery& delivery, bool arrived, WallTime now, std::string status) {
  INVARIANT(!delivery.in_flight);
  const DeliveryState only = arrived ? DeliveryState::waiting : DeliveryState::delivered;
  if (delivery.state != only) return false;
  delivery.last_answer = std::move(status);
  end(delivery, arrived ? DeliveryState::delivered : DeliveryState::dead_letter, now);
  return true;
}

void clamp(Delivery& delivery, WallTime now, Span longest) {
  delivery.next_attempt_at = std::min(delivery.next_attempt_at, now + longest);
}

}  // namespace ebbwatch
