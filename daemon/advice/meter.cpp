#include "advice/meter.h"

#include <algorithm>
#include <cmath>

namespace ebbwatch::advice {
namespace {

constexpr std::int64_t random_loss_run = 2;  // As core/arrival.cpp: longer runs are no chance.
constexpr Span same_spell = Span::of_min(1);

SelfTrust::Rules rules_of(const WatchPlan& plan) {
  SelfTrust::Rules rules;
  rules.references = static_cast<std::uint32_t>(plan.uplink_references.size());
  rules.quorum = plan.uplink_quorum;
  rules.uplink_every = plan.uplink_every;
  rules.judges_presence = plan.judges_own_presence && rules.references > 0;
  return rules;
}

}  // namespace

Meter::Meter(const WatchPlan& plan) : trust_(rules_of(plan), Instant{}) {
  for (const ControllerPlan& controller : plan.controllers) {
    One it;
    const SiteIndex site = plan.tanks[controller.tank.value].site;
    it.path = plan.sites[site.value].is_watchers_own ? Path::local : Path::remote;
    it.arrival = Arrival(controller.interval);
    it.measure.controller = controller.id;
    controllers_.push_back(std::move(it));
  }
}

void Meter::on(const Event& event) {
  if (first_.is_never()) {
    first_ = event.at;
    // Nothing before the history's first row was watched.
    (void)trust_.started(event.at);
  }
  newest_ = event.at;
  if (std::holds_alternative<WatcherStarted>(event.what)) {
    close(trust_.started(event.at));
  } else if (const auto* jump = std::get_if<ClockJump>(&event.what)) {
    close(trust_.jumped(event.at, jump->blind_for));
  } else if (std::holds_alternative<CheckIn>(event.what) ||
             std::holds_alternative<UplinkResult>(event.what) ||
             std::holds_alternative<WatcherStopped>(event.what) ||
             std::holds_alternative<Tick>(event.what)) {
    close(trust_.sign(event.at));
  }
  if (const auto* check = std::get_if<CheckIn>(&event.what)) {
    check_in(*check, event.at);
  } else if (const auto* uplink = std::get_if<UplinkResult>(&event.what)) {
    close(trust_.checked(event.at, uplink->reference, uplink->answered));
  } else if (std::holds_alternative<WatcherStopped>(event.what)) {
    trust_.stopped(event.at);
  }
}

void Meter::close(const std::optional<BlindSpell>& spell) {
  if (!spell || spell->to <= spell->from) return;
  const Span length = spell->to - spell->from;
  // Signs of life end one spell bit by bit.
  const bool goes_on = own_.blind.us > 0 && spell->from - blind_until_ < same_spell;
  blind_until_ = spell->to;
  own_.blind += length;
  blind_remote_ += length;
  if (spell->why == BlindSpell::Why::link) {
    own_.cut_off += goes_on ? 0 : 1;
  } else {
    own_.stopped += goes_on ? 0 : 1;
    blind_local_ += length;
  }
}

void Meter::check_in(const CheckIn& check_in, Instant at) {
  One& it = controllers_[check_in.controller.value];
  if (it.path == Path::remote) close(trust_.heard_remote(at));
  if (check_in.buffered) return;
  Freshness freshness = it.newest.judge(check_in, at);
  if (freshness == Freshness::stale) {
    if (!it.newest.take_stale(check_in, at, it.arrival.interval())) return;
    freshness = Freshness::restarted;
  }
  const bool restarted = freshness == Freshness::restarted;
  ArrivalFacts facts;
  facts.sent_since = restarted ? 0 : it.newest.sent_since(check_in);
  facts.phase_lost = restarted || blind_of(it) != it.blind_before;
  ++it.measure.heard;
  if (!it.last.is_never()) gap(it, at, facts.sent_since);
  it.newest.take(check_in, at);
  it.arrival.heard(at, facts);
  it.last = at;
  it.blind_before = blind_of(it);
  it.planned_until = check_in.leaving ? at + *check_in.leaving : Instant{};
}

void Meter::gap(One& it, Instant at, std::int64_t sent_since) {
  Measure& measure = it.measure;
  if (it.planned_until > it.last) {
    ++measure.left_out;
    return;
  }
  const Span blind = blind_of(it) - it.blind_before;
  const Span heard = (at - it.last) - blind;
  const Span interval = it.arrival.interval();
  const Span overdue = heard - interval;
  measure.watched += std::max(heard, Span{});
  const std::int64_t missed =
      std::max<std::int64_t>((heard + interval / 2).us / interval.us, 1) - 1;
  if (blind.us > 0) {
    ++measure.left_out;
    // What was silent although the watcher listened for most of it is a silence all the same.
    if (missed > random_loss_run) silence(measure, overdue, missed);
    return;
  }
  if (overdue >= interval / 2) silence(measure, overdue, missed);
  if (missed > random_loss_run) return;
  const std::int64_t sent = sent_since > 0 ? std::min(sent_since, missed + 1) : missed + 1;
  measure.expected += static_cast<std::uint64_t>(sent);
  measure.lost += static_cast<std::uint64_t>(sent - 1);
  if (missed > 0 || it.arrival.expected().is_never()) return;
  const double error = (at - it.arrival.expected()).seconds();
  const double before = error - it.jitter_mean;
  it.jitter_mean += before / static_cast<double>(++it.jitters);
  it.jitter_squares += before * (error - it.jitter_mean);
}

void Meter::silence(Measure& measure, Span overdue, std::int64_t missed) {
  if (overdue >= outage_from) {
    ++measure.outages;
    return;
  }
  measure.silences.add(overdue);
  if (missed <= random_loss_run) return;
  ++measure.missed_three;
  measure.silent += overdue;
  measure.longest = std::max(measure.longest, overdue);
}

History Meter::result() const {
  History history;
  history.own = own_;
  if (!first_.is_never()) history.own.length = newest_ - first_;
  for (const One& it : controllers_) {
    Measure measure = it.measure;
    measure.interval = it.arrival.learnt().interval;
    if (it.jitters > 1) {
      measure.jitter_s = std::sqrt(it.jitter_squares / static_cast<double>(it.jitters - 1));
    }
    history.controllers.push_back(std::move(measure));
  }
  return history;
}

}  // namespace ebbwatch::advice
