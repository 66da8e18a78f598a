#include "core/watch.h"

#include <algorithm>
#include <utility>

#include "core/alarm_state.h"
#include "core/invariant.h"
#include "core/watch_impl.h"

namespace ebbwatch {
namespace {

SelfTrust::Rules trust_rules(const WatchPlan& plan) {
  SelfTrust::Rules rules;
  rules.references = static_cast<std::uint32_t>(plan.uplink_references.size());
  rules.quorum = plan.uplink_quorum;
  rules.uplink_every = plan.uplink_every;
  rules.judges_presence = plan.judges_own_presence && rules.references > 0;
  return rules;
}

/// A blind spell shorter than three checks of the link matters to nobody.
constexpr std::int64_t told_after_checks = 3;
/// Without such checks a pause of the whole watcher is noticed by everybody's silence only.
constexpr Span told_after = Span::of_min(5);

}  // namespace

Watch::Impl::Impl(WatchPlan plan, Instant now)
    : plan_(std::move(plan)),
      count_(static_cast<std::uint32_t>(plan_.controllers.size())),
      wheel_(3 * count_ + static_cast<std::uint32_t>(plan_.sites.size()) + 1, now),
      trust_(trust_rules(plan_), now),
      witnesses_(static_cast<std::uint32_t>(plan_.witnesses.size()), count_,
                 plan_.uplink_every * told_after_checks, plan_.asks_witnesses),
      view_(plan_, controllers_),
      now_(now),
      last_remote_(now) {
  controllers_.resize(count_);
  for (std::uint32_t i = 0; i < count_; ++i) {
    controllers_[i].arrival = Arrival(plan_.controllers[i].interval);
    controllers_[i].contact_since = now;
  }
  ready_.reserve(count_);
  reconsidered_.reserve(count_);
}

Path Watch::Impl::path_of(std::uint32_t controller) const {
  return plan_.sites[site_of(controller).value].is_watchers_own ? Path::local : Path::remote;
}

SiteIndex Watch::Impl::site_of(std::uint32_t controller) const {
  return plan_.tanks[plan_.controllers[controller].tank.value].site;
}

const Detection& Watch::Impl::rules(std::uint32_t controller) const {
  return plan_.controllers[controller].detection;
}

void Watch::Impl::decide(DecisionKind kind, const OutageRecord& record, Instant at, Instant since) {
  Decision decision;
  // Never before one that was already given (the watcher may have been blind at `at`).
  decision.at = last_decision_ = std::max(at, last_decision_);
  decision.kind = kind;
  decision.told = record.told ? Told::as_usual : Told::held;
  decision.subject = record.subject;
  decision.outage = record.id;
  decision.since = since;
  decision.cause = record.cause;
  decision.confidence = record.confidence;
  decision.evidence = record.evidence;
  out_->push_back(decision);
}

void Watch::Impl::on(const Event& event, std::vector<Decision>& decisions) {
  INVARIANT(event.at >= now_);
  out_ = &decisions;
  const bool of_witness = std::holds_alternative<WitnessWord>(event.what) ||
                          std::holds_alternative<WitnessReachable>(event.what);
  const bool of_person = std::holds_alternative<Acknowledge>(event.what) ||
                         std::holds_alternative<Shelve>(event.what) ||
                         std::holds_alternative<Unshelve>(event.what);
  if (!of_witness && !of_person) {
    if (std::holds_alternative<WatcherStarted>(event.what)) {
      close(trust_.started(event.at));
    } else if (const auto* jump = std::get_if<ClockJump>(&event.what)) {
      close(trust_.jumped(event.at, jump->blind_for));
    } else {
      close(trust_.sign(event.at));
    }
    now_ = event.at;
    drain(event.at);
  } else if (!trust_.judges_presence() && trust_.running()) {
    now_ = event.at;
    drain(event.at);
  }
  now_ = event.at;
  apply(event);
  look_at_broker(event.at);
  judge_ready(event.at);
  out_ = nullptr;
}

void Watch::Impl::apply(const Event& event) {
  const Instant at = event.at;
  if (const auto* check = std::get_if<CheckIn>(&event.what)) {
    INVARIANT(check->controller.value < count_);
    check_in(*check, at);
  } else if (const auto* uplink = std::get_if<UplinkResult>(&event.what)) {
    close(trust_.checked(at, uplink->reference, uplink->answered));
  } else if (const auto* broker = std::get_if<BrokerLink>(&event.what)) {
    broker_answers(broker->answers, at);
  } else if (std::holds_alternative<WatcherStopped>(event.what)) {
    trust_.stopped(at);
  } else if (const auto* heard = std::get_if<WitnessWord>(&event.what)) {
    if (heard->age) witnesses_.heard(heard->witness, heard->controller, at - *heard->age, at);
    witnesses_.said(heard->witness, heard->controller, at);
  } else if (const auto* reach = std::get_if<WitnessReachable>(&event.what)) {
    witnesses_.reachable(reach->witness, reach->reachable, at);
  } else if (const auto* over = std::get_if<WitnessesHeardOut>(&event.what)) {
    weigh(over->controller.value, at);
  } else if (const auto* taken = std::get_if<Acknowledge>(&event.what)) {
    const bool run_out = taken->kind == Acknowledge::Kind::run_out;
    const AlarmEvent told = run_out ? AlarmEvent::alarm_again : AlarmEvent::acknowledge;
    for (Outage& it : outages_) {
      if (it.used && it.record.id == taken->outage) {
        it.record.alarm = next(it.record.alarm, told);
      }
    }
    std::erase_if(closed_, [&](const OutageRecord& it) { return it.id == taken->outage; });
  } else if (const auto* away = std::get_if<Shelve>(&event.what)) {
    put_away(away->shelf, at);
  } else if (const auto* back = std::get_if<Unshelve>(&event.what)) {
    put_back(back->subject, back->kind, at);
  }
}

void Watch::Impl::drain(Instant until) {
  if (!trust_.running()) return;
  while (const auto due = wheel_.pop(until)) {
    if (due->entry < count_) {
      fire(due->entry, due->at);
    } else if (due->entry < 2 * count_) {
      settle(due->entry - count_, due->at);
    } else if (due->entry < 3 * count_) {
      settle_standing(due->entry - 2 * count_, due->at);
    } else if (due->entry == shelf_timer()) {
      end_shelves(due->at);
    } else {
      mains_report(SiteIndex{due->entry - 3 * count_}, due->at);
    }
    // Where no proof of the link is to be waited for, the verdict is due at its own time.
    if (!ready_.empty()) judge_ready(due->at);
  }
}

void Watch::Impl::judge_ready(Instant at) {
  if (ready_.empty() || !trust_.running()) return;
  std::swap(ready_, reconsidered_);
  std::sort(reconsidered_.begin(), reconsidered_.end());
  for (const std::uint32_t index : reconsidered_) {
    Controller& it = controllers_[index];
    if (!it.queued) continue;
    it.queued = false;
    if (!it.ripe && !it.early) continue;
    if (is_proven(index)) {
      judge(index, at);
    } else {
      it.queued = true;
      ready_.push_back(index);
    }
  }
  reconsidered_.clear();
}

/// Whether all that this controller may have sent until it was put up for judgement would be here.
bool Watch::Impl::is_proven(std::uint32_t index) const {
  const Controller& it = controllers_[index];
  const Path path = path_of(index);
  const bool link = path == Path::local || !trust_.judges_link() ||
                    (trust_.link_trusted() && trust_.proof(path) >= it.ready_at);
  const bool broker = !it.by_broker || !trust_.judges_broker() ||
                      (trust_.broker_trusted() && trust_.broker_proof() >= it.ready_at);
  return link && broker;
}

bool Watch::Impl::reaches(const BlindSpell& spell, std::uint32_t controller) const {
  if (spell.why == BlindSpell::Why::stopped) return true;
  if (spell.why == BlindSpell::Why::broker) return controllers_[controller].by_broker;
  return path_of(controller) == Path::remote;
}

void Watch::Impl::close(const std::optional<BlindSpell>& spell) {
  if (!spell) return;
  for (std::uint32_t i = 0; i < count_; ++i) {
    Controller& it = controllers_[i];
    if (!reaches(*spell, i) || !it.live()) continue;
    leave_out(it, rules(i), spell->from, spell->to);
    it.asking = Asking{};
    it.asking.not_before = spell->to;
    arm(i);
  }
  give_chance(spell->to);
  tell_gap(*spell, false);
}

/// Tells of it when it was long enough to matter. @param lasts whether it is not over yet.
void Watch::Impl::tell_gap(const BlindSpell& spell, bool lasts) {
  const bool broker = spell.why == BlindSpell::Why::broker;
  Span told = trust_.judges_link() || spell.announced || broker
                  ? plan_.uplink_every * told_after_checks
                  : told_after;
  std::uint32_t cut_off = 0;
  Span patience = Span::of_days(1);
  for (std::uint32_t i = 0; broker && i < count_; ++i) {
    if (!controllers_[i].by_broker || controllers_[i].contact == Contact::enrolled) continue;
    ++cut_off;
    patience = std::min(patience, rules(i).on_delay);
  }
  broker_look_at_ = spell.to + plan_.uplink_every;
  if (broker && cut_off == 0) return;
  // While it lasts, only what has outlasted an on-delay is news.
  if (lasts) told = std::max(told, patience + Span::of_ms(1));
  broker_look_at_ = spell.from + told;
  if (spell.to - spell.from < told) return;
  OutageRecord record;
  const bool again = broker && broker_gap_ != 0;
  record.id = again ? broker_gap_ : next_outage_++;
  record.told = !again;
  broker_gap_ = lasts ? record.id : 0;
  record.subject = Subject{Scope::watcher, 0};
  record.cause = Cause::watcher_uplink;
  record.confidence = 0.99;
  Evidence fact;
  fact.code = broker                                  ? Evidence::Code::broker_silent
              : spell.why == BlindSpell::Why::stopped ? Evidence::Code::watcher_stopped
                                                      : Evidence::Code::uplink_failed;
  fact.subject = record.subject;
  fact.at = spell.from;
  fact.span = spell.to - spell.from;
  fact.count = cut_off;
  fact.total = lasts ? 1 : 0;
  record.evidence.push(fact);
  decide(DecisionKind::watch_gap, record, spell.to, spell.from);
}

void Watch::Impl::broker_answers(bool answers, Instant at) {
  const bool before = trust_.broker_trusted();
  close(trust_.broker(at, answers));
  if (answers == before) return;
  broker_look_at_ = at;
  for (Controller& it : controllers_) it.cut_off = it.by_broker && !answers;
}

/// Nobody is told of silent tanks behind a broker that does not answer; of the broker itself, once.
void Watch::Impl::look_at_broker(Instant at) {
  if (trust_.broker_trusted() || broker_gap_ != 0 || !trust_.running()) return;
  if (at < broker_look_at_) return;
  tell_gap({trust_.broker_proof(), at, BlindSpell::Why::broker, false}, true);
}

/// `index` is heard at `at`: whether that ends a silence that was this watcher's own.
void Watch::Impl::end_mass_silence(std::uint32_t index, Instant at) {
  if (path_of(index) == Path::local) return;
  const Instant before = last_remote_;
  last_remote_ = at;
  if (!mine_ && (trust_.judges_link() || at - before < plan_.uplink_every * 2)) return;
  // So long that everybody should have been heard in it: the pause was this watcher's own.
  std::uint32_t sites = 0;
  Span longest{};
  SiteIndex last_site;
  for (std::uint32_t i = 0; i < count_; ++i) {
    const Controller& it = controllers_[i];
    if (!it.live() || path_of(i) == Path::local) continue;
    longest = std::max(longest, it.arrival.interval() + it.arrival.margin());
    if (it.contact != Contact::overdue || site_of(i) == last_site) continue;
    if (it.arrival.expected() + it.arrival.margin() < before) continue;
    last_site = site_of(i);
    ++sites;
  }
  const bool all_paused = at - before >= longest;
  if (!mine_ && (sites < mass_sites || !all_paused)) return;
  // One that was heard all along says nothing about the others.
  if (mine_ && !all_paused && controllers_[index].contact != Contact::overdue) return;
  mine_ = false;
  close(BlindSpell{before, at, BlindSpell::Why::link, false});
}

Instant Watch::Impl::next_deadline() const {
  return wheel_.next();
}

// The public face.

Watch::Watch(WatchPlan plan, Instant now) : impl_(std::make_unique<Impl>(std::move(plan), now)) {}
Watch::Watch(WatchPlan plan, Instant now, const WatchState& state)
    : impl_(std::make_unique<Impl>(std::move(plan), now)) {
  impl_->restore(state);
}
Watch::~Watch() = default;
Watch::Watch(Watch&&) noexcept = default;
Watch& Watch::operator=(Watch&&) noexcept = default;

void Watch::on(const Event& event, std::vector<Decision>& decisions) {
  impl_->on(event, decisions);
}
void Watch::take_questions(std::vector<ControllerIndex>& questions) {
  impl_->take_questions(questions);
}
bool Watch::vouched(ControllerIndex controller) const {
  return impl_->controller(controller).asking.vouched;
}
OutageId Watch::take_number() {
  return impl_->take_number();
}
Instant Watch::next_deadline() const {
  return impl_->next_deadline();
}
const WatchPlan& Watch::plan() const {
  return impl_->plan();
}
Contact Watch::contact(ControllerIndex controller) const {
  return impl_->controller(controller).contact;
}
GroupContact Watch::contact(TankIndex tank) const {
  return impl_->contact(tank);
}
GroupContact Watch::contact(SiteIndex site) const {
  return impl_->contact(site);
}
AlarmState Watch::alarm(ControllerIndex controller) const {
  return impl_->alarm(Subject{Scope::controller, controller.value});
}
AlarmState Watch::alarm(TankIndex tank) const {
  return impl_->alarm(Subject{Scope::tank, tank.value});
}
AlarmState Watch::alarm(SiteIndex site) const {
  return impl_->alarm(Subject{Scope::site, site.value});
}
Instant Watch::last_heard(ControllerIndex controller) const {
  return impl_->controller(controller).last_heard;
}
Instant Watch::planned_until(ControllerIndex controller) const {
  return impl_->planned_until(controller);
}
const std::vector<Shelf>& Watch::shelves() const {
  return impl_->shelves();
}
const OutageRecord* Watch::outage_of(ControllerIndex controller) const {
  return impl_->outage_of(controller);
}
const OutageRecord* Watch::outage(OutageId id) const {
  return impl_->outage(id);
}
bool Watch::uplink_trusted() const {
  return impl_->uplink_trusted();
}
ControllerRecord Watch::record(ControllerIndex controller) const {
  return impl_->record(controller);
}
WatchState Watch::state() const {
  return impl_->state();
}

}  // namespace ebbwatch
