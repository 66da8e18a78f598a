#include "app/engine.h"

#include <algorithm>
#include <cstdio>
#include <utility>

#include "app/rows.h"
#include "app/time_left.h"
#include "core/wording.h"
#include "reporting/log.h"
#include "settings/plan.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

constexpr std::size_t decisions_expected_max = 64;

/// Unix seconds with three decimals.
std::string seconds_text(WallTime time) {
  char text[32];
  std::snprintf(text, sizeof text, "%.3f", static_cast<double>(time.us) / 1e6);
  return text;
}

}  // namespace

std::vector<ControllerIndex> controllers_of(const WatchPlan& plan, Subject subject) {
  std::vector<ControllerIndex> all;
  const auto add_tank = [&](TankIndex t) {
    const auto& members = plan.tanks[t.value].controllers;
    all.insert(all.end(), members.begin(), members.end());
  };
  const auto add_site = [&](SiteIndex s) {
    for (const TankIndex t : plan.sites[s.value].tanks) add_tank(t);
  };
  switch (subject.scope) {
    case Scope::controller:
      all.push_back({subject.index});
      break;
    case Scope::tank:
      add_tank({subject.index});
      break;
    case Scope::site:
      add_site({subject.index});
      break;
    case Scope::area:
      for (const SiteIndex s : plan.areas[subject.index].sites) add_site(s);
      break;
    case Scope::provider:
      for (const SiteIndex s : plan.providers[subject.index].sites) add_site(s);
      break;
    case Scope::watcher:
      break;
  }
  return all;
}

Engine::Engine(Parts parts, Settings settings, Notifiers notifiers)
    : parts_(std::move(parts)),
      settings_(std::move(settings)),
      plan_(Witnessing::live_plan(settings_)),
      answers_(parts_.clock, parts_.entropy,
               [this](LinkRow row) {
                 Batch batch;
                 batch.links.push_back(std::move(row));
                 parts_.committer.later(std::move(batch));
               }),
      dispatcher_({parts_.tasks, parts_.clock, parts_.entropy, parts_.committer, [this] { arm(); },
                   [this](OutageId outage) { acknowledgement_ran_out(outage); }, &answers_,
                   [this](const std::string& keyholder, const std::string& notifier) {
                     proofs_.delivered(keyholder, notifier, parts_.clock.wall_now());
                   }},
                  settings_, plan_, std::move(notifiers)),
      guard_(parts_.clock.now(), parts_.clock.wall_now()),
      timer_(parts_.loop),
      telling_(settings_.watcher.name, settings_.watcher.deputy_after),
      proofs_([this](ProofRow row) {
        Batch batch;
        batch.proofs.push_back(std::move(row));
        parts_.committer.later(std::move(batch));
      }) {
  decisions_.reserve(decisions_expected_max);
  answers_.use(settings_);
  witnessing_.use(settings_, plan_);
  parts_.committer.set_fill([this](Batch& batch) { add_dirty(batch); });
}

void Engine::start(const StoredState& stored) {
  const Instant now = parts_.clock.now();
  for (std::uint32_t i = 0; i < plan_.controllers.size(); ++i)
    by_id_[plan_.controllers[i].id] = {i};
  is_dirty_.assign(plan_.controllers.size(), 0);
  heard_.assign(plan_.controllers.size(), {});
  for (const auto& row : stored.outages) outages_[row.id] = row;
  for (const auto& row : stored.controllers) {
    const auto found = by_id_.find(row.controller);
    if (found != by_id_.end()) heard_[found->second.value].datagram_at = row.datagram_at;
  }
  (void)readings_.use(settings_, plan_);  // Nothing was judged before.
  readings_.restore(stored.readings, parts_.clock);
  answers_.restore(stored.links);
  dispatcher_.restore(stored);
  shelf_book_.restore(stored.shelves, plan_);
  proofs_.restore(stored.proofs);
  drills_.restore(stored.drills);
  stand_ins_.restore(stored.stand_ins);
  drills_since_ = parts_.clock.wall_now();

  if (stored.last_written) {
    // The Watch begins where the last one ended, then hears that this one has only now started:
    // the time between is ours.
    const Instant ended = std::min(parts_.clock.to_instant(*stored.last_written), now);
    watch_ = std::make_unique<Watch>(plan_, ended, to_state(stored, plan_, parts_.clock));
    if (stored.stopped_in_good_order) feed({ended, WatcherStopped{}});
  } else {
    watch_ = std::make_unique<Watch>(plan_, now);
  }
  restore_telling(stored, now);
  add_watcher_row("start", "", true);
  feed({now, WatcherStarted{}});
  if (broker_answers_) feed({now, BrokerLink{*broker_answers_}});
  arm();
}

void Engine::reload(Settings settings, Notifiers notifiers) {
  const Instant now = enter();
  WatchPlan plan = Witnessing::live_plan(settings);
  const WatchState state = carry_over(watch_->state(), plan_, plan);
  std::map<std::string, Heard> heard;
  for (std::uint32_t i = 0; i < heard_.size(); ++i) {
    heard[plan_.controllers[i].id] = std::move(heard_[i]);
  }
  settings_ = std::move(settings);
  plan_ = std::move(plan);
  answers_.use(settings_);
  dirty_.clear();
  is_dirty_.assign(plan_.controllers.size(), 0);
  heard_.assign(plan_.controllers.size(), {});
  by_id_.clear();
  for (std::uint32_t i = 0; i < plan_.controllers.size(); ++i) {
    by_id_[plan_.controllers[i].id] = {i};
    heard_[i] = std::move(heard[plan_.controllers[i].id]);
  }
  watch_ = std::make_unique<Watch>(plan_, now, state);
  drop_readings(readings_.use(settings_, plan_));
  witnessing_.use(settings_, plan_);
  dispatcher_.reload(settings_, plan_, std::move(notifiers));
  if (broker_answers_) feed({now, BrokerLink{*broker_answers_}});
  feed({now, Tick{}});
  arm();
}

void Engine::stop(std::function<void()> done) {
  if (watch_ && !stopped_) feed({enter(), WatcherStopped{}});
  stopped_ = true;
  timer_.cancel();
  dispatcher_.stop();
  Batch batch;
  batch.watcher_rows.push_back({parts_.clock.wall_now(), "stop", "", true});
  parts_.committer.now(std::move(batch), [done = std::move(done)](bool) { done(); });
}

CheckInAnswer Engine::accept(const Credential& credential, const ParsedCheckIn& parsed,
                             const std::string& remote_address, Instant) {
  if (stopped_) return CheckInAnswer::unavailable;
  const auto found = by_id_.find(credential.controller);
  if (found == by_id_.end()) return CheckInAnswer::unknown_controller;
  const ControllerIndex controller = found->second;
  const Instant now = enter();
  say(Level::debug, "check_in", credential.controller + " checked in from " + remote_address + ".");

  Batch batch;
  auto row = to_row(parsed, credential.controller, parts_.clock.to_wall(now));
  Heard& heard = heard_[controller.value];
  if (credential.proven_at) heard.datagram_at = credential.proven_at;
  if (!row.readings_json.empty()) {
    heard.at = row.at;
    heard.readings_json = row.readings_json;
  }
  batch.check_ins.push_back(std::move(row));
  mark(controller);
  const bool first = watch_->contact(controller) == Contact::enrolled;
  if (!parsed.buffered) witnessing_.heard(controller, now);
  CheckIn event = to_event(parsed, controller);
  event.by_broker = credential.kind == Credential::Kind::broker;
  feed({now, event});
  if (!parsed.buffered) judge_readings(controller, parsed, batch);
  if (first) {
    // A controller that was heard must not be forgotten by a crash: its silence would not be told.
    parts_.committer.now(std::move(batch), [](bool) {});
  } else {
    parts_.committer.later(std::move(batch));
  }
  return CheckInAnswer::taken;
}

void Engine::refused(int status, const std::string& controller, const std::string& remote_address,
                     const std::string& detail) {
  say(Level::info, "check_in_refused",
      "Refused a check-in from " + remote_address + " with " + std::to_string(status) +
          (controller.empty() ? "" : " (" + controller + ")") + ": " + detail);
}

void Engine::uplink(ReferenceIndex reference, bool answered) {
  if (stopped_) return;
  const Instant now = enter();
  add_watcher_row("uplink", plan_.uplink_references[reference.value], answered);
  feed({now, UplinkResult{reference, answered}});
}

void Engine::broker(bool answers) {
  broker_answers_ = answers;
  if (watch_ && !stopped_) feed({enter(), BrokerLink{answers}});
}

Result<void> Engine::acknowledge(OutageId outage, const Acknowledgement& given) {
  note_proof(outage, given);
  if (drills_.open(outage) != nullptr) return answer_drill(outage, given);
  if (auto* reading = readings_.alarm(outage)) {
    reading->taken = true;
    store_reading(*reading);
    dispatcher_.acknowledge(outage, given);
    parts_.changed();
    arm();
    say(Level::info, "acknowledged",
        outage_name(outage) + " was taken on by " + quoted(given.by) + " (" + word(given.way) +
            ").");
    return {};
  }
  if (watch_->outage(outage) == nullptr || outages_.count(outage) == 0) {
    return Error{Errc::not_found, "No outage " + outage_text(plan_, outage) +
                                      " is running. 'ebbwatch status' lists those that are."};
  }
  const Instant now = enter();
  change_alarm({now, Acknowledge{outage}}, outage);
  dispatcher_.acknowledge(outage, given);
  telling_.acknowledged(outage, given.by, now);
  arm();
  say(Level::info, "acknowledged",
      outage_name(outage) + " was taken on by " + quoted(given.by) + " (" + word(given.way) + ").");
  return {};
}

void Engine::acknowledgement_ran_out(OutageId outage) {
  if (auto* reading = readings_.alarm(outage)) {
    reading->taken = false;
    store_reading(*reading);
  }
  telling_.acknowledgement_ran_out(outage);
  change_alarm({parts_.clock.now(), Acknowledge{outage, Acknowledge::Kind::run_out}}, outage);
  say(Level::warning, "acknowledgement_ran_out",
      "Nobody has " + outage_text(plan_, outage) + " any more; its call list begins again.");
}

void Engine::change_alarm(const Event& event, OutageId outage) {
  feed(event);
  const OutageRecord* record = watch_->outage(outage);
  if (record == nullptr) return;
  OutageRow& row = outages_[outage];
  row = to_row(*record, plan_, parts_.clock);
  Batch batch;
  batch.outages.push_back(row);
  parts_.committer.later(std::move(batch));
  parts_.changed();
}

std::string Engine::taken_by(OutageId outage) const {
  if (const auto* reading = readings_.alarm(outage)) {
    return reading->taken ? dispatcher_.taken_by(outage) : std::string();
  }
  const OutageRecord* record = watch_->outage(outage);
  const bool has = record != nullptr && record->alarm == AlarmState::acknowledged;
  return has ? dispatcher_.taken_by(outage) : std::string();
}

Instant Engine::enter() {
  const Instant now = parts_.clock.now();
  const auto seen = guard_.turn(now, parts_.clock.wall_now());
  if (seen.wall_stepped) {
    say(Level::warning, "wall_clock_set",
        "The wall clock was set by " + std::to_string(seen.wall_stepped->us / 1'000'000) +
            " s. Deciding does not depend on it.");
  }
  if (seen.blind_for > Span{}) {
    say(Level::warning, "was_not_running",
        "This process was not running for " + span_text(seen.blind_for) +
            ". That time is not counted as anybody's silence.");
    witnessing_.was_deaf_until(now);
    feed({now, ClockJump{seen.blind_for}});
  }
  return now;
}

void Engine::feed(Event event) {
  // What one event causes may have been fed with a later time than the next one was read at.
  event.at = fed_until_ = std::max(event.at, fed_until_);
  watch_->on(event, decisions_);
  if (watch_->shelves().size() != shelf_book_.rows().size()) sweep_shelves();
  if (!decisions_.empty()) settle();
  act_on_telling();
  witnessing_.after_event(*watch_, event.at);
  if (!witnessing_.next_deadline().is_never()) parts_.witness_news();
  parts_.changed();
}

void Engine::settle() {
  Batch batch;
  // Deciding may not be re-entered from here, so the list can be walked as it is.
  std::uint64_t ticket = 0;
  for (const Decision& decision : decisions_) {
    ticket = std::max(ticket, add_decision(decision, batch));
  }
  decisions_.clear();
  parts_.committer.now(std::move(batch), [this, ticket](bool) { dispatcher_.release(ticket); });
}

std::uint64_t Engine::add_decision(const Decision& decision, Batch& batch) {
  note_telling(decision);
  const DeskContext context = context_of(decision);
  DecisionRow row = row_of(decision, context);
  say(decision.kind == DecisionKind::loss ? Level::warning : Level::info, "decided",
      std::string(word(decision.kind)) + " of " + word(decision.subject.scope) + " " + row.subject +
          " (" + subject_name(settings_, plan_, decision.subject) + ")" +
          (decision.outage ? ", outage " + outage_name(decision.outage) : "") + ", since " +
          to_rfc3339(context.since) + ", cause " + word(decision.cause) + ".");
  batch.decisions.push_back(std::move(row));
  for (const ControllerIndex c : controllers_of(plan_, decision.subject)) mark(c);
  add_outage(decision, batch);
  witnessing_.decided(decision);
  if (decision.told == Told::held) return 0;
  // Of one that others tell of as well, act_on_telling() tells when it is this watcher's turn.
  const bool shared = !telling_.name(decision.outage).empty();
  if (shared && decision.told == Told::as_usual && decision.kind == DecisionKind::loss) return 0;
  if (shared && decision.told == Told::late && !telling_.tells(decision.outage)) return 0;
  return dispatcher_.decided(decision, context, batch);
}

DeskContext Engine::context_of(const Decision& decision) const {
  DeskContext context;
  context.now = parts_.clock.wall_now();
  context.outage = telling_.name(decision.outage);
  context.at = parts_.clock.to_wall(decision.at);
  context.since = parts_.clock.to_wall(decision.since);
  context.time_text = [this, now = context.now](Instant t) {
    return time_of_day(parts_.clock.to_wall(t), now);
  };
  context.to_wall = [this](Instant t) { return parts_.clock.to_wall(t); };
  context.last_heard = last_heard_of(decision.subject);
  if (decision.kind == DecisionKind::loss || decision.kind == DecisionKind::cause_revised) {
    context.time_left = [this, subject = decision.subject, heard = context.last_heard,
                         since = context.since](Language language) {
      return time_left_of(settings_, plan_, subject, heard, since, language);
    };
  }
  const auto running = outages_.find(decision.outage);
  if (decision.kind == DecisionKind::recovery && running != outages_.end()) {
    context.gone_for = context.since - running->second.since;
  } else if (decision.kind == DecisionKind::watch_gap) {
    context.gone_for = context.at - context.since;
  }
  const auto scope = decision.subject.scope;
  if (scope == Scope::area || scope == Scope::provider) {
    const auto& groups = scope == Scope::area ? plan_.areas : plan_.providers;
    for (const SiteIndex s : groups[decision.subject.index].sites) {
      if (watch_->contact(s) != GroupContact::in_contact) context.sites.push_back(s);
    }
  }
  return context;
}

std::vector<LastHeard> Engine::last_heard_of(Subject subject) const {
  std::vector<LastHeard> all;
  for (const ControllerIndex c : controllers_of(plan_, subject)) {
    const Heard& heard = heard_[c.value];
    if (heard.readings_json.empty()) continue;
    all.push_back({plan_.controllers[c.value].id, heard.at, heard.readings_json});
  }
  return all;
}

DecisionRow Engine::row_of(const Decision& decision, const DeskContext& context) const {
  DecisionRow row;
  row.at = context.at;
  row.kind = word(decision.kind);
  row.scope = word(decision.subject.scope);
  row.subject = subject_id(plan_, decision.subject);
  row.outage = decision.outage;
  const DecisionTimes times{"at", '"' + to_rfc3339(context.at) + '"', seconds_text(context.since),
                            context.outage};
  row.json = decision_json(decision, plan_, context.time_text, times);
  return row;
}

void Engine::add_outage(const Decision& decision, Batch& batch) {
  if (decision.outage == 0) return;
  if (decision.kind == DecisionKind::loss) batch.next_outage = decision.outage + 1;
  OutageRow& row = outages_[decision.outage];
  if (const OutageRecord* record = watch_->outage(decision.outage)) {
    row = to_row(*record, plan_, parts_.clock);
  }
  row.id = decision.outage;
  row.closed = row.closed || decision.kind == DecisionKind::recovery;
  batch.outages.push_back(row);
  if (row.closed) outages_.erase(decision.outage);
}

void Engine::mark(ControllerIndex controller) {
  if (is_dirty_[controller.value]) return;
  is_dirty_[controller.value] = 1;
  dirty_.push_back(controller);
}

void Engine::add_dirty(Batch& batch) {
  for (const ControllerIndex c : dirty_) {
    is_dirty_[c.value] = 0;
    auto row = to_row(watch_->record(c), plan_, parts_.clock);
    row.datagram_at = heard_[c.value].datagram_at;
    batch.controllers.push_back(std::move(row));
  }
  dirty_.clear();
}

void Engine::add_watcher_row(const char* kind, const std::string& subject, bool ok) {
  Batch batch;
  batch.watcher_rows.push_back({parts_.clock.wall_now(), kind, subject, ok});
  parts_.committer.later(std::move(batch));
}

void Engine::arm() {
  if (stopped_ || !watch_) return;
  const Instant now = parts_.clock.now();
  Instant next = std::min(watch_->next_deadline(), now + ClockGuard::turn_every);
  share_outages();
  next = std::min(next, std::max(witnessing_.next_deadline(), now));
  next = std::min(next, std::max(telling_.next_deadline(), now));
  if (const auto desk = dispatcher_.next_deadline()) {
    next = std::min(next, std::max(parts_.clock.to_instant(*desk), now));
  }
  if (!armed_for_.is_never() && armed_for_ <= next && armed_for_ > now) return;
  armed_for_ = next;
  const Span wait = std::max(next - now, Span::of_ms(1));
  timer_.expires_after(std::chrono::microseconds(wait.us));
  timer_.async_wait([this](const boost::system::error_code& error) {
    if (!error) turn();
  });
}

void Engine::turn() {
  armed_for_ = Instant::never();
  const Instant now = enter();
  feed({now, Tick{}});
  witnessing_.tick(now);
  tick_telling(now);
  parts_.witness_news();
  dispatcher_.tick();
  tend_readings();
  tend_drills();
  tend_people();
  parts_.on_time();
  arm();
}

}  // namespace ebbwatch
