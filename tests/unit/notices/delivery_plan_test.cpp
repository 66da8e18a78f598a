#include "notices/delivery_plan.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

namespace {

constexpr WallTime start{1'000'000'000'000};
constexpr RetryPolicy plan{Span::of_s(5), Span::of_s(900), Span::of_h(6)};

Outcome answer(Outcome::Kind kind, std::optional<Span> retry_after = {}) {
  return {kind, "an answer", retry_after};
}

Delivery after(const RetryPolicy& policy, Outcome outcome, WallTime at, double random = 0.5) {
  Delivery delivery = new_delivery(start);
  (void)start_attempt(delivery);
  end_attempt(delivery, policy, outcome, at, random);
  return delivery;
}

}  // namespace

TEST_CASE("backoff: ceilings double from the first wait up to the cap") {
  // Full jitter, M. Brooker 2015; ceilings for base 5 s and cap 900 s.
  const int ceilings[] = {5, 10, 20, 40, 80, 160, 320, 640, 900, 900};
  Span total;
  for (std::uint32_t n = 1; n <= 10; ++n) {
    CHECK(wait_before_next(plan, n, 1, {}).us == Span::of_s(ceilings[n - 1]).us);
    CHECK(wait_before_next(plan, n, 0.5, {}).us == Span::of_s(ceilings[n - 1]).us / 2);
    CHECK(wait_before_next(plan, n, 0, {}).us == 0);
    total += wait_before_next(plan, n, 0.5, {});
  }
  CHECK(total.seconds() == doctest::Approx(1537.5));  // Expected total of ten waits.
  CHECK(wait_before_next(plan, 4'000'000, 1, {}).us == plan.cap.us);
}

TEST_CASE("backoff: a longer Retry-After wins, up to one hour; a shorter one does not") {
  CHECK(wait_before_next(plan, 1, 1, Span::of_s(120)).us == Span::of_s(120).us);
  CHECK(wait_before_next(plan, 1, 1, Span::of_s(2)).us == Span::of_s(5).us);
  CHECK(wait_before_next(plan, 1, 0, Span::of_days(2)).us == Span::of_h(1).us);
}

TEST_CASE("policy: each kind of notifier has its own waits") {
  CHECK(retry_policy(NotifierKind::email).first_wait.us == Span::of_s(15).us);
  CHECK(retry_policy(NotifierKind::email).cap.us == Span::of_min(10).us);
  CHECK(retry_policy(NotifierKind::email).give_up.us == Span::of_h(6).us);
  CHECK(retry_policy(NotifierKind::webhook).first_wait.us == Span::of_s(5).us);
  CHECK(retry_policy(NotifierKind::webhook).cap.us == Span::of_min(15).us);
  for (NotifierKind kind : {NotifierKind::sms_gateway, NotifierKind::gsm_modem}) {
    CHECK(retry_policy(kind).first_wait.us == Span::of_s(10).us);
    CHECK(retry_policy(kind).cap.us == Span::of_min(5).us);
    CHECK(retry_policy(kind).give_up.us == Span::of_h(1).us);
  }
}

TEST_CASE("delivery: a new one is due at once, and not while it is in flight") {
  Delivery delivery = new_delivery(start);
  CHECK(is_due(delivery, start));
  CHECK_FALSE(is_due(delivery, start - Span::of_us(1)));
  CHECK(start_attempt(delivery) == 1);
  CHECK_FALSE(is_due(delivery, start + Span::of_days(1)));
}

TEST_CASE("delivery: delivered ends it") {
  const Delivery delivery = after(plan, answer(Outcome::Kind::delivered), start + Span::of_s(1));
  CHECK(delivery.state == DeliveryState::delivered);
  CHECK(delivery.ended_at->us == (start + Span::of_s(1)).us);
  CHECK(delivery.attempts == 1);
  CHECK_FALSE(is_due(delivery, start + Span::of_days(9)));
}

TEST_CASE("delivery: refused for good is a dead letter at once") {
  const Delivery delivery = after(plan, answer(Outcome::Kind::rejected_forever), start);
  CHECK(delivery.state == DeliveryState::dead_letter);
  CHECK(delivery.last_answer == "an answer");
}

TEST_CASE("delivery: a lost answer is tried again and remembered as perhaps arrived") {
  const Delivery lost = after(plan, answer(Outcome::Kind::unknown), start);
  CHECK(lost.state == DeliveryState::waiting);
  CHECK(lost.maybe_arrived);
  const Delivery refused = after(plan, answer(Outcome::Kind::retry_later), start);
  CHECK(refused.state == DeliveryState::waiting);
  CHECK_FALSE(refused.maybe_arrived);
  CHECK(refused.next_attempt_at.us == (start + Span::of_ms(2500)).us);
}

TEST_CASE("delivery: the last attempt is at the deadline, then it is a dead letter") {
  const WallTime deadline = start + plan.give_up;
  Delivery delivery =
      after(plan, answer(Outcome::Kind::retry_later), deadline - Span::of_s(1), 1.0);
  CHECK(delivery.state == DeliveryState::waiting);
  CHECK(delivery.next_attempt_at.us == deadline.us);
  (void)start_attempt(delivery);
  end_attempt(delivery, plan, answer(Outcome::Kind::retry_later), deadline, 1.0);
  CHECK(delivery.state == DeliveryState::dead_letter);
}

TEST_CASE("delivery: Retry-After is kept even when it ends after the deadline") {
  const WallTime near = start + plan.give_up - Span::of_s(10);
  const Delivery delivery =
      after(plan, answer(Outcome::Kind::retry_later, Span::of_min(5)), near, 0);
  CHECK(delivery.next_attempt_at.us == (near + Span::of_min(5)).us);
}

TEST_CASE("delivery: nothing is given up without an attempt at or after the deadline") {
  // The clock was set forward by a day before the first attempt.
  Delivery delivery = new_delivery(start);
  CHECK(is_due(delivery, start + Span::of_days(1)));
  CHECK(delivery.state == DeliveryState::waiting);
}

TEST_CASE("delivery: after the clock was set back no wait is longer than an hour") {
  Delivery delivery = new_delivery(start);
  clamp(delivery, start - Span::of_days(30));
  CHECK(delivery.next_attempt_at.us == (start - Span::of_days(30) + Span::of_h(1)).us);
}

TEST_CASE("delivery: withdrawn at once when idle, after a failed answer when in flight") {
  Delivery idle = new_delivery(start);
  withdraw(idle, start);
  CHECK(idle.state == DeliveryState::withdrawn);

  for (Outcome::Kind kind :
       {Outcome::Kind::retry_later, Outcome::Kind::unknown, Outcome::Kind::rejected_forever}) {
    Delivery flying = new_delivery(start);
    (void)start_attempt(flying);
    withdraw(flying, start);
    CHECK(flying.state == DeliveryState::waiting);
    end_attempt(flying, plan, answer(kind), start, 0);
    CHECK(flying.state == DeliveryState::withdrawn);
  }
  Delivery arrived = new_delivery(start);
  (void)start_attempt(arrived);
  withdraw(arrived, start);
  end_attempt(arrived, plan, answer(Outcome::Kind::delivered), start, 0);
  CHECK(arrived.state == DeliveryState::delivered);
  withdraw(arrived, start + Span::of_s(1));
  CHECK(arrived.state == DeliveryState::delivered);
}
