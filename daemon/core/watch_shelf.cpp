// What is put away: shelved or out of service by a person, or stopped as a controller announced.
// Its losses are decided as ever; this file says whether they are told, and tells what is still
// silent when the time is over.
#include <algorithm>
#include <tuple>

#include "core/alarm_state.h"
#include "core/watch_impl.h"

namespace ebbwatch {
namespace {

bool is_away(AlarmState state) {
  return state == AlarmState::shelved || state == AlarmState::suppressed_by_design ||
         state == AlarmState::out_of_service;
}

AlarmState state_of(Shelf::Kind kind) {
  return kind == Shelf::Kind::shelved ? AlarmState::shelved : AlarmState::out_of_service;
}

}  // namespace

void Watch::Impl::put_away(const Shelf& shelf, Instant at) {
  const auto place =
      std::lower_bound(shelves_.begin(), shelves_.end(), shelf, [](const Shelf& a, const Shelf& b) {
        return std::tie(a.subject, a.kind) < std::tie(b.subject, b.kind);
      });
  const bool replaces =
      place != shelves_.end() && place->subject == shelf.subject && place->kind == shelf.kind;
  if (replaces) {
    *place = shelf;
  } else {
    shelves_.insert(place, shelf);
  }
  arm_shelves();
  for (std::uint32_t slot = 0; slot < outages_.size(); ++slot) reconsider(slot, at);
}

void Watch::Impl::put_back(Subject subject, Shelf::Kind kind, Instant at) {
  const auto found = std::find_if(shelves_.begin(), shelves_.end(), [&](const Shelf& it) {
    return it.subject == subject && it.kind == kind;
  });
  if (found == shelves_.end()) return;
  ended_ = *found;
  ended_->until = at;
  shelves_.erase(found);
  arm_shelves();
  for (std::uint32_t slot = 0; slot < outages_.size(); ++slot) reconsider(slot, at);
  ended_.reset();
}

void Watch::Impl::end_shelves(Instant at) {
  const auto over = [&](const Shelf& it) { return due(it) <= at; };
  const bool deaf = trust_.judges_link() && !trust_.link_trusted();
  if (deaf && std::any_of(shelves_.begin(), shelves_.end(), over)) {
    // Who is back could not be heard now.
    wheel_.arm(shelf_timer(), at + plan_.uplink_every);
    return;
  }
  while (true) {
    const auto found = std::find_if(shelves_.begin(), shelves_.end(), over);
    if (found == shelves_.end()) break;
    ended_ = *found;
    shelves_.erase(found);
    for (std::uint32_t slot = 0; slot < outages_.size(); ++slot) reconsider(slot, at);
  }
  ended_.reset();
  for (std::uint32_t slot = 0; slot < outages_.size(); ++slot) reconsider(slot, at);
  arm_shelves();
}

void Watch::Impl::arm_shelves() {
  Instant next = Instant::never();
  for (const Shelf& shelf : shelves_) next = std::min(next, due(shelf));
  wheel_.arm(shelf_timer(), next);
}

void Watch::Impl::give_chance(Instant heard_from) {
  if (shelves_.empty()) return;
  Span chance{};
  for (const Outage& outage : outages_) {
    if (!outage.used || !is_away(outage.record.alarm)) continue;
    for (const ControllerIndex member : outage.members) {
      const Arrival& arrival = controllers_[member.value].arrival;
      chance = std::max(chance, arrival.interval() + arrival.margin());
    }
  }
  if (chance.us == 0) return;
  shelves_not_before_ = heard_from + chance;
  arm_shelves();
}

/// Moves the alarm of an outage onto the shelf or off it, after what is true now.
void Watch::Impl::reconsider(std::uint32_t slot, Instant at) {
  Outage& outage = outages_[slot];
  if (!outage.used) return;
  const AlarmState away = put_away_as(outage);
  if (away != AlarmState::normal) {
    outage.record.alarm = away;
  } else if (is_away(outage.record.alarm) && any_unheard(outage)) {
    tell_late(outage, at);
  }
}

void Watch::Impl::tell_late(Outage& outage, Instant at) {
  OutageRecord& record = outage.record;
  if (ended_) {
    Evidence fact;
    fact.code = Evidence::Code::was_put_away;
    fact.subject = ended_->subject;
    fact.at = std::min(ended_->until, at);
    fact.span = fact.at - record.since;
    fact.count = ended_->kind == Shelf::Kind::out_of_service ? 1 : 0;
    const auto known = record.evidence;
    record.evidence.clear();
    record.evidence.push(fact);
    for (const Evidence& it : known) record.evidence.push(it);
  }
  record.alarm = after_shelf(true);
  record.told = true;
  decide(DecisionKind::cause_revised, record, at, record.since);
  out_->back().told = Told::late;
}

AlarmState Watch::Impl::put_away_as(std::uint32_t controller) const {
  AlarmState state = AlarmState::normal;
  const Controller& it = controllers_[controller];
  if (it.planned && now_ < it.planned_until) state = AlarmState::suppressed_by_design;
  for (const Shelf& shelf : shelves_) {
    if (!is_member_of(controller, shelf.subject)) continue;
    if (shelf.kind == Shelf::Kind::out_of_service) return AlarmState::out_of_service;
    state = AlarmState::shelved;
  }
  return state;
}

AlarmState Watch::Impl::put_away_as(Subject subject) const {
  AlarmState state = AlarmState::normal;
  for (const Shelf& shelf : shelves_) {
    if (!contains(shelf.subject, subject)) continue;
    if (state != AlarmState::out_of_service) state = state_of(shelf.kind);
  }
  return state != AlarmState::normal ? state : put_away_together(live_of(subject));
}

/// Part of an area is enough to speak of an area: there its members count, not all that it has.
AlarmState Watch::Impl::put_away_as(const Outage& outage) const {
  const Subject subject = outage.record.subject;
  if (subject.scope < Scope::area) return put_away_as(subject);
  return put_away_together(outage.members);
}

/// The least lasting state of them, since the whole is put away as long as each part is.
AlarmState Watch::Impl::put_away_together(const std::vector<ControllerIndex>& controllers) const {
  const auto lasting = [](AlarmState state) {
    return state == AlarmState::suppressed_by_design ? 0 : state == AlarmState::shelved ? 1 : 2;
  };
  AlarmState together = AlarmState::normal;
  for (const ControllerIndex member : controllers) {
    const AlarmState one = put_away_as(member.value);
    if (one == AlarmState::normal) return one;
    if (together == AlarmState::normal || lasting(one) < lasting(together)) together = one;
  }
  return together;
}

std::vector<ControllerIndex> Watch::Impl::live_of(Subject subject) const {
  std::vector<ControllerIndex> live;
  const auto add = [&](ControllerIndex one) {
    if (controllers_[one.value].contact != Contact::enrolled) live.push_back(one);
  };
  const auto add_tank = [&](TankIndex tank) {
    for (const ControllerIndex one : plan_.tanks[tank.value].controllers) add(one);
  };
  if (subject.scope == Scope::controller) add({subject.index});
  if (subject.scope == Scope::tank) add_tank({subject.index});
  if (subject.scope == Scope::site) {
    for (const TankIndex tank : plan_.sites[subject.index].tanks) add_tank(tank);
  }
  return live;
}

bool Watch::Impl::any_unheard(const Outage& outage) const {
  return std::any_of(outage.members.begin(), outage.members.end(),
                     [&](ControllerIndex member) { return controllers_[member.value].unheard(); });
}

Instant Watch::Impl::planned_until(ControllerIndex controller) const {
  const Controller& it = controllers_[controller.value];
  return it.planned && now_ < it.planned_until ? it.planned_until : Instant::never();
}

Evidence Watch::Impl::planned_fact(std::uint32_t index) const {
  const Controller& it = controllers_[index];
  Evidence fact;
  fact.code = Evidence::Code::planned_stop;
  fact.subject = Subject{Scope::controller, index};
  fact.at = it.planned_until;
  fact.span = it.planned_until - it.planned_at;
  return fact;
}

}  // namespace ebbwatch
