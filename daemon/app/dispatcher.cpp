#include "app/dispatcher.h"

#include <algorithm>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <chrono>
#include <utility>

#include "reporting/log.h"

namespace ebbwatch {
namespace {

constexpr Span first_check_after = Span::of_s(2);
constexpr std::chrono::milliseconds loop_watch_every{20};

const char* outcome_word(Outcome::Kind kind) {
  switch (kind) {
    case Outcome::Kind::delivered:
      return "delivered";
    case Outcome::Kind::retry_later:
      return "not taken yet";
    case Outcome::Kind::rejected_forever:
      return "refused for good";
    case Outcome::Kind::unknown:
      break;
  }
  return "no clear answer";
}

}  // namespace

Dispatcher::Dispatcher(Parts parts, const Settings& settings, const WatchPlan& plan,
                       Notifiers notifiers)
    : parts_(std::move(parts)),
      notifiers_(std::move(notifiers)),
      desk_(settings, plan, parts_.answers) {
  for (const auto& [id, notifier] : notifiers_) health_[id];
  plan_checks(settings);
}

// All of them soon after the start: what does not work should be known before it is needed.
void Dispatcher::plan_checks(const Settings& settings) {
  checks_.clear();
  const WallTime now = parts_.clock.wall_now();
  for (const NotifierSettings& one : settings.notifiers) {
    if (one.check_every.us > 0) checks_[one.id] = {one.check_every, now + first_check_after};
  }
}

void Dispatcher::start_checks() {
  if (stopping_) return;
  const WallTime now = parts_.clock.wall_now();
  for (auto& [id, check] : checks_) {
    const auto notifier = notifiers_.find(id);
    // A next time too far away was planned before the clock was set back.
    const bool due = now >= check.next || check.next - now > check.every;
    if (!due || notifier == notifiers_.end()) continue;
    check.next = now + check.every;
    parts_.tasks.start("check of " + id, Tasks::Role::helper,
                       [this, id = id, way = notifier->second]() -> boost::asio::awaitable<void> {
                         if (const auto outcome = co_await way->check()) checked(id, *outcome);
                       });
  }
}

void Dispatcher::checked(const std::string& notifier, const Outcome& outcome) {
  const auto found = health_.find(notifier);
  if (found == health_.end()) return;
  NotifierHealth& health = found->second;
  const bool failing = outcome.kind != Outcome::Kind::delivered;
  const bool changed = failing != health.check_failing;
  health.checked_at = parts_.clock.wall_now();
  health.check_failing = failing;
  if (failing) health.answer = outcome.answer;
  note_health(notifier);
  if (!changed) return;
  if (!health.failing) health.since = health.checked_at;
  say(failing ? Level::warning : Level::info, "notifier_checked",
      "Notifier " + notifier + (failing ? " would not deliver now: " : " would deliver again: ") +
          quoted(outcome.answer));
}

// The desk tells people when it lasts.
void Dispatcher::note_health(const std::string& notifier) {
  const NotifierHealth& health = health_[notifier];
  desk_.on_notifier(notifier, health.failing || health.check_failing, health.answer,
                    parts_.clock.wall_now());
  parts_.rearm();
}

// Only while notices are under way: an idle machine is not woken for figures.
void Dispatcher::watch_loop() {
  if (watching_loop_) return;
  watching_loop_ = true;
  parts_.tasks.start("loop watch", Tasks::Role::helper, [this]() -> boost::asio::awaitable<void> {
    using clock = boost::asio::steady_timer::clock_type;
    boost::asio::steady_timer timer(co_await boost::asio::this_coro::executor);
    while (in_flight_ > 0) {
      timer.expires_after(loop_watch_every);
      co_await timer.async_wait(boost::asio::use_awaitable);
      const auto late = clock::now() - timer.expiry();
      lateness_.add(
          Span::of_us(std::chrono::duration_cast<std::chrono::microseconds>(late).count()));
    }
    watching_loop_ = false;
  });
}

std::optional<WallTime> Dispatcher::next_deadline() const {
  std::optional<WallTime> next = desk_.next_deadline();
  for (const auto& [id, check] : checks_) next = std::min(next.value_or(check.next), check.next);
  return next;
}

void Dispatcher::restore(const StoredState& state) {
  store(desk_.restore(state, parts_.clock.wall_now(), parts_.entropy));
  if (const auto waiting = desk_.waiting(); waiting > 0) {
    say(Level::info, "notices_taken_up",
        std::to_string(waiting) + " notices of an earlier run are still to be delivered.");
  }
}

void Dispatcher::reload(const Settings& settings, const WatchPlan& plan, Notifiers notifiers) {
  notifiers_ = std::move(notifiers);
  std::map<std::string, NotifierHealth> kept;
  for (const auto& [id, notifier] : notifiers_) kept[id] = health_[id];
  health_ = std::move(kept);
  plan_checks(settings);
  store(desk_.reload(settings, plan, parts_.clock.wall_now(), parts_.entropy));
}

std::uint64_t Dispatcher::reading(const Decision& decision, const ReadingNews& news,
                                  const std::string& json, const DeskContext& context,
                                  Batch& batch) {
  return add(desk_.on_reading(decision, news, json, context, parts_.entropy), batch);
}

std::uint64_t Dispatcher::decided(const Decision& decision, const DeskContext& context,
                                  Batch& batch) {
  return add(desk_.on_decision(decision, context, parts_.entropy), batch);
}

std::uint64_t Dispatcher::drill(const MadeUpLoss& made, const std::vector<Call>& calls,
                                Batch& batch) {
  return add(desk_.on_drill(made, calls, parts_.clock.wall_now(), parts_.entropy), batch);
}

void Dispatcher::end_drill(OutageId number) {
  store(desk_.end_drill(number, parts_.clock.wall_now()));
}

std::uint64_t Dispatcher::add(Changes changes, Batch& batch) {
  report(changes);
  Batch part;
  part.notices = std::move(changes.notices);
  part.attempts = std::move(changes.attempts);
  part.calls = std::move(changes.calls);
  append(batch, std::move(part));
  return changes.ticket;
}

void Dispatcher::release(std::uint64_t ticket) {
  desk_.committed(ticket);
  pump();
}

void Dispatcher::acknowledge(OutageId outage, const Acknowledgement& given) {
  store(desk_.on_acknowledge(outage, given, parts_.clock.wall_now(), parts_.entropy));
}

bool Dispatcher::reported(const DeliveryReport& report) {
  if (desk_.under_way(report.notice)) return false;
  say(report.arrived ? Level::info : Level::warning, "delivery_report",
      "Notifier " + report.notifier + " reports of notice " + quoted(report.notice) + ": it " +
          (report.arrived ? "has arrived" : "will not arrive") + " (" + quoted(report.status) +
          ").");
  store(desk_.on_report(report.notice, report.arrived, report.status, parts_.clock.wall_now(),
                        parts_.entropy));
  return true;
}

void Dispatcher::rest(OutageId outage) {
  store(desk_.on_put_away(outage, parts_.clock.wall_now()));
}

void Dispatcher::hand_over(OutageId outage) {
  store(desk_.on_hand_over(outage, parts_.clock.wall_now()));
}

void Dispatcher::reached_elsewhere(OutageId outage, const std::vector<std::string>& delivered) {
  store(desk_.on_reached_elsewhere(outage, delivered, parts_.clock.wall_now()));
}

void Dispatcher::store_changed(const StoreHealth& health) {
  store(desk_.on_store(health.failing, health.reason, parts_.clock.wall_now(), parts_.entropy));
  parts_.rearm();
}

void Dispatcher::unproven(const WayProof& way, const std::vector<std::string>& lists) {
  store(desk_.on_unproven(way.keyholder, way.notifier, way.proven_at, lists,
                          parts_.clock.wall_now(), parts_.entropy));
}

void Dispatcher::tick() {
  start_checks();
  Changes changes = desk_.on_tick(parts_.clock.wall_now(), parts_.entropy);
  const std::vector<OutageId> run_out = std::move(changes.run_out);
  store(std::move(changes));
  for (OutageId outage : run_out) parts_.run_out(outage);
  pump();
}

const std::map<std::string, NotifierHealth>& Dispatcher::health() {
  for (auto& [id, health] : health_) {
    if (const auto notifier = notifiers_.find(id); notifier != notifiers_.end()) {
      const WayState way = notifier->second->state();
      health.way = way.text;
      health.way_failing = way.word == WayState::Word::failing;
    }
    health.waiting =
        static_cast<std::uint32_t>(desk_.queued(id, parts_.clock.wall_now()) + desk_.in_flight(id));
  }
  return health_;
}

void Dispatcher::report(const Changes& changes) {
  for (const auto& row : changes.notices) {
    if (row.state == "dead_letter") ++health_[row.notifier].dead_letters;
  }
  for (const auto& remark : changes.remarks) say(Level::warning, "notice_remark", remark);
}

void Dispatcher::store(Changes changes) {
  report(changes);
  if (changes.empty()) return;
  Batch batch;
  batch.notices = std::move(changes.notices);
  batch.attempts = std::move(changes.attempts);
  batch.calls = std::move(changes.calls);
  parts_.committer.now(std::move(batch), [this, ticket = changes.ticket](bool) {
    desk_.committed(ticket);
    pump();
  });
}

void Dispatcher::pump() {
  if (!stopping_) {
    for (auto& send : desk_.take_due(parts_.clock.wall_now())) {
      const auto found = notifiers_.find(send.notifier);
      if (found == notifiers_.end()) {
        ended(send,
              {Outcome::Kind::rejected_forever, "This notifier is no longer configured.", {}});
        continue;
      }
      ++in_flight_;
      watch_loop();
      // A lambda's captures live as long as the coroutine, since Tasks keeps the function object.
      parts_.tasks.start("deliver by " + send.notifier, Tasks::Role::helper,
                         [this, send, notifier = found->second]() -> boost::asio::awaitable<void> {
                           Outcome outcome = co_await notifier->deliver(send.message);
                           --in_flight_;
                           ended(send, outcome);
                         });
    }
  }
  parts_.rearm();
}

void Dispatcher::ended(const Send& send, const Outcome& outcome) {
  const WallTime now = parts_.clock.wall_now();
  const bool delivered = outcome.kind == Outcome::Kind::delivered;
  auto& health = health_[send.notifier];
  if (delivered == health.failing || !health.since) health.since = now;
  health.failing = !delivered;
  health.check_failing = health.check_failing && !delivered;
  health.answer = outcome.answer;
  note_health(send.notifier);
  if (delivered && parts_.delivered) parts_.delivered(send.message.keyholder, send.notifier);
  say(delivered ? Level::info : Level::warning, "notice_attempt",
      "Notice " + send.message.notice + " (" + send.message.event_type + ", " +
          send.message.subject_id + ") to " + send.message.keyholder + " by " + send.notifier +
          ", attempt " + std::to_string(send.message.attempt) + ": " + outcome_word(outcome.kind) +
          (outcome.answer.empty() ? "" : "; answer: " + quoted(outcome.answer)));
  store(desk_.on_outcome(send.message.notice, outcome, now, parts_.entropy));
}

}  // namespace ebbwatch
