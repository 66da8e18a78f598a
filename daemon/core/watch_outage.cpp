// Running outages: opened by a loss, widened, narrowed, and closed by one recovery.
#include <algorithm>

#include "core/alarm_state.h"
#include "core/watch_impl.h"

namespace ebbwatch {
namespace {

/// A changed cause is told while the outage lasts only when it is this sure.
constexpr double revise_from = 0.8;

}  // namespace

std::uint32_t Watch::Impl::take_slot() {
  for (std::uint32_t slot = 0; slot < outages_.size(); ++slot) {
    if (!outages_[slot].used) return slot;
  }
  outages_.emplace_back();
  return static_cast<std::uint32_t>(outages_.size() - 1);
}

void Watch::Impl::cover(std::uint32_t slot, std::uint32_t controller, Instant at) {
  Controller& it = controllers_[controller];
  it.contact = Contact::silent;
  it.contact_since = at;
  it.ripe = false;
  it.early = false;
  it.asking = Asking{};
  wheel_.arm(controller, Instant::never());
  it.figure.add(at, rules(controller).steadiness);
  if (it.outage != Controller::no_outage) return;
  it.back = Return{};
  it.outage = slot;
  outages_[slot].members.push_back(ControllerIndex{controller});
}

void Watch::Impl::lose(std::uint32_t index, const Verdict& verdict, Instant at) {
  if (verdict.joins != Controller::no_outage) {
    join(verdict.joins, verdict, at);
    return;
  }
  mine_ = false;
  const std::uint32_t slot = take_slot();
  Outage& outage = outages_[slot];
  outage = Outage{};
  outage.used = true;
  outage.onset = verdict.onset;
  outage.partial = verdict.partial;
  outage.facts = facts_of(verdict, index, at);
  OutageRecord& record = outage.record;
  record.id = next_outage_++;
  record.subject = verdict.subject;
  record.confirmed_at = at;
  record.alarm = AlarmState::unacknowledged;
  believe_anew(record, outage.facts);
  const Controller& seed = controllers_[index];
  if (seed.planned) record.evidence.push(planned_fact(index));
  tell_silence(verdict, index, at, record);
  if (!verdict.by_battery && (seed.figure.unsteady() || is_shaky(index, at))) {
    // It was told later than wished, and that is said.
    record.evidence.push(unsteady_fact(index, verdict.subject, at));
  } else if (seed.ripe && at - seed.ripe_at > seed.arrival.interval() / 2) {
    record.evidence.push(patience_fact(index, at));
  }
  Instant since = verdict.onset.from;
  for (const std::uint32_t member : verdict.lost) {
    since = std::max(since, controllers_[member].last_heard);
    cover(slot, member, at);
  }
  record.since = since;
  const AlarmState away = put_away_as(outage);
  if (away != AlarmState::normal) {
    record.alarm = away;
    record.told = false;
  }
  std::erase_if(closed_, [&](const OutageRecord& it) { return it.subject == record.subject; });
  decide(DecisionKind::loss, record, at, record.since);
}

void Watch::Impl::join(std::uint32_t slot, const Verdict& verdict, Instant at) {
  Outage& outage = outages_[slot];
  OutageRecord& record = outage.record;
  const Subject both = around(verdict.subject, record.subject);
  const bool wider = both != record.subject;
  for (const std::uint32_t member : verdict.lost) cover(slot, member, at);
  if (!wider) return;
  Verdict whole = verdict;
  whole.subject = both;
  if (both != verdict.subject && both.scope == Scope::site) {
    const SiteTally site = view_.site(SiteIndex{both.index}, outage.onset, at);
    whole.part = site.tanks_touched;
    whole.whole = site.tanks;
    whole.partial = whole.part < whole.whole;
  }
  whole.lost.clear();
  for (const ControllerIndex member : outage.members) whole.lost.push_back(member.value);
  outage.partial = whole.partial;
  record.subject = both;
  const std::uint32_t seed = whole.lost.front();
  outage.facts = facts_of(whole, seed, at);
  believe_anew(record, outage.facts);
  record.evidence.clear();
  tell_silence(whole, seed, at, record);
  decide(DecisionKind::cause_revised, record, at, record.since);
}

void Watch::Impl::hear_of_battery(std::uint32_t controller, Instant at) {
  // Its word tells the cause of an outage that runs at its place.
  if (controllers_[controller].battery_since != at) return;
  for (Outage& outage : outages_) {
    OutageRecord& record = outage.record;
    if (!outage.used || !is_member_of(controller, record.subject)) continue;
    if (at < outage.onset.from || at > record.confirmed_at + Span::of_h(1)) continue;
    outage.facts.add(Observation::battery_reported);
    const Cause before = record.cause;
    believe_anew(record, outage.facts);
    if (record.cause == before || record.confidence < revise_from) continue;
    Evidence fact;
    fact.code = Evidence::Code::power_was_battery;
    fact.subject = Subject{Scope::controller, controller};
    fact.at = at;
    record.evidence.push(fact);
    decide(DecisionKind::cause_revised, record, at, record.since);
  }
}

Evidence Watch::Impl::unsteady_fact(std::uint32_t index, Subject subject, Instant at) const {
  const Steadiness& rule = rules(index).steadiness;
  const double losses = controllers_[index].figure.at(at, rule) / rule.penalty;
  Evidence fact;
  fact.code = Evidence::Code::often_unsteady;
  fact.subject = subject;
  fact.count = std::max(1U, static_cast<std::uint32_t>(losses + 0.5));
  fact.span = rule.half_life;
  return fact;
}

/// Later than wished because its check-ins are often lost, and that is said, too.
Evidence Watch::Impl::patience_fact(std::uint32_t index, Instant at) const {
  const Controller& it = controllers_[index];
  Evidence fact;
  fact.code = Evidence::Code::often_lost;
  fact.subject = Subject{Scope::controller, index};
  fact.at = at;
  fact.span = at - it.ripe_at;
  fact.count = static_cast<std::uint32_t>(100 * it.arrival.loss_chance() + 0.5);
  return fact;
}

void Watch::Impl::hold_back(std::uint32_t index, const Verdict& verdict, Instant at) {
  for (const Standing& it : standing_) {
    if (contains(it.subject, verdict.subject) || contains(verdict.subject, it.subject)) return;
  }
  Standing standing{verdict.subject, index, next_outage_++, at};
  OutageRecord record;
  record.id = standing.id;
  record.subject = verdict.subject;
  record.since = verdict.onset.from;
  believe_anew(record, facts_of(verdict, index, at));
  record.evidence.push(unsteady_fact(index, verdict.subject, at));
  record.told = put_away_as(verdict.subject) == AlarmState::normal;
  standing_.push_back(standing);
  decide(DecisionKind::unsteady, record, at, record.since);
  const Steadiness& rule = rules(index).steadiness;
  wheel_.arm(standing_timer(index), controllers_[index].figure.reuse_at(at, rule));
}

void Watch::Impl::settle_standing(std::uint32_t controller, Instant at) {
  const auto found = std::find_if(standing_.begin(), standing_.end(),
                                  [&](const Standing& it) { return it.controller == controller; });
  if (found == standing_.end()) return;
  Controller& it = controllers_[controller];
  const Steadiness& rule = rules(controller).steadiness;
  it.figure.settle(at, rule);
  if (it.figure.unsteady() || it.unheard()) {
    const Instant again = std::max(it.figure.reuse_at(at, rule), at + Span::of_min(1));
    wheel_.arm(standing_timer(controller), again);
    return;
  }
  OutageRecord record;
  record.id = found->id;
  record.subject = found->subject;
  const Instant since = it.contact_since;
  standing_.erase(found);
  decide(DecisionKind::steady, record, at, since);
}

void Watch::Impl::settle(std::uint32_t slot, Instant at) {
  Outage& outage = outages_[slot];
  if (!outage.used) return;
  std::size_t remaining = 0;
  std::size_t returned = 0;
  Instant latest{};
  Span longest{};
  for (const ControllerIndex member : outage.members) {
    const Controller& it = controllers_[member.value];
    if (it.contact == Contact::returning) return;  // It will call again.
    const Detection& rule = rules(member.value);
    if (it.unheard()) {
      ++remaining;
      longest = std::max(longest, it.arrival.interval() + it.arrival.interval());
      longest = std::max(longest, rule.off_delay * 2);
      continue;
    }
    ++returned;
    latest = std::max(latest, it.back.at);
  }
  if (outage.members.empty()) return recover(slot, at);  // Its controllers left the settings.
  if (returned == 0) return;
  if (remaining == 0) return recover(slot, at);
  const Instant patience = latest + longest;
  if (at < patience) {
    wheel_.arm(outage_timer(slot), patience);
  } else if (remaining * 2 >= outage.members.size()) {
    release_returned(slot);
  } else {
    narrow(slot, at);
  }
}

void Watch::Impl::release_returned(std::uint32_t slot) {
  std::erase_if(outages_[slot].members, [&](ControllerIndex member) {
    Controller& it = controllers_[member.value];
    if (it.unheard()) return false;
    it.outage = Controller::no_outage;
    return true;
  });
}

Subject Watch::Impl::narrowest(const Outage& outage) const {
  Subject subject{Scope::controller, 0};
  std::uint32_t remaining = 0;
  bool one_tank = true;
  bool one_site = true;
  TankIndex tank;
  for (const ControllerIndex member : outage.members) {
    if (!controllers_[member.value].unheard()) continue;
    const TankIndex own = plan_.controllers[member.value].tank;
    if (remaining++ == 0) {
      subject.index = member.value;
      tank = own;
    }
    one_tank = one_tank && own == tank;
    one_site = one_site && plan_.tanks[own.value].site == plan_.tanks[tank.value].site;
  }
  const std::size_t of_tank = plan_.tanks[tank.value].controllers.size();
  const Quorum quorum = plan_.tanks[tank.value].detection.quorum;
  const bool whole_tank =
      one_tank && remaining >= quorum.needed(static_cast<std::uint32_t>(of_tank));
  if (whole_tank) {
    const bool whole_site = plan_.sites[plan_.tanks[tank.value].site.value].tanks.size() == 1;
    return whole_site ? Subject{Scope::site, plan_.tanks[tank.value].site.value}
                      : Subject{Scope::tank, tank.value};
  }
  if (one_tank) return subject;
  return one_site ? Subject{Scope::site, plan_.tanks[tank.value].site.value}
                  : outage.record.subject;
}

void Watch::Impl::narrow(std::uint32_t slot, Instant at) {
  Outage& outage = outages_[slot];
  const Subject rest = narrowest(outage);
  // Part of a tank is no outage of its own: the recovery says who is still missing.
  if (rest.scope == Scope::controller || rest == outage.record.subject) {
    recover(slot, at);
    return;
  }
  release_returned(slot);
  outage.record.subject = rest;
  outage.record.evidence.clear();
  for (const ControllerIndex member : outage.members) {
    Evidence fact;
    fact.code = Evidence::Code::silent_since;
    fact.subject = Subject{Scope::controller, member.value};
    fact.at = controllers_[member.value].last_heard;
    outage.record.evidence.push(fact);
  }
  decide(DecisionKind::cause_revised, outage.record, at, outage.record.since);
}

void Watch::Impl::recover(std::uint32_t slot, Instant at) {
  Outage& outage = outages_[slot];
  OutageRecord& record = outage.record;
  believe_anew(record, facts_of_return(outage));
  record.evidence.clear();
  tell_return(outage, record);
  record.closed = true;
  record.alarm = next(record.alarm, AlarmEvent::returns_to_good);
  Instant back = record.since;
  for (const ControllerIndex member : outage.members) {
    Controller& it = controllers_[member.value];
    it.outage = Controller::no_outage;
    if (!it.unheard()) back = std::max(back, it.back.at);
  }
  decide(DecisionKind::recovery, record, at, back);
  if (record.alarm == AlarmState::returned_unacknowledged) closed_.push_back(record);
  outage.used = false;
  outage.members.clear();
}

}  // namespace ebbwatch
