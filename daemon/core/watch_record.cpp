// What outlives the process, and views of contact and alarms.
#include <algorithm>

#include "core/watch_impl.h"

namespace ebbwatch {

void Watch::Impl::restore(const WatchState& state) {
  next_outage_ = std::max<OutageId>(state.next_outage, 1);
  for (const OutageRecord& record : state.outages) {
    next_outage_ = std::max(next_outage_, record.id + 1);
    if (record.closed) {
      closed_.push_back(record);
      continue;
    }
    Outage outage;
    outage.used = true;
    outage.record = record;
    outage.onset = {record.since, record.since + Span::of_min(5)};
    outages_.push_back(outage);
  }
  for (const ControllerRecord& stored : state.controllers) {
    const std::uint32_t index = stored.controller.value;
    if (index >= count_) continue;
    Controller& it = controllers_[index];
    if (stored.contact == Contact::enrolled) continue;
    it.by_broker = stored.by_broker;
    it.arrival.restore({stored.interval, stored.sent, stored.lost, stored.error});
    it.last_heard = it.last_direct = stored.last_heard;
    it.last_power = stored.last_power;
    it.last_power_at = stored.last_power_at;
    if (stored.last_power == Power::battery) it.battery_since = stored.last_power_at;
    it.newest.restore(stored.last_seq, stored.last_uptime_s, stored.last_heard);
    it.fresh_phase = true;
    // Nobody listened since: whoever was not lost counts as heard just now.
    it.arrival.expect_at(now_ + it.arrival.interval());
    it.contact = stored.contact;
    it.contact_since = stored.contact_since;
    if (!stored.planned_until.is_never() && stored.planned_until > now_) {
      it.planned = true;
      it.planned_at = stored.last_heard;
      it.planned_until = stored.planned_until;
      it.arrival.expect_at(it.planned_until + it.arrival.interval());
    }
    if (stored.contact == Contact::overdue) it.contact = Contact::present;
    if (stored.contact == Contact::returning) {
      it.back.at = stored.contact_since;
      it.back.unbroken_since = now_;
    }
    for (std::uint32_t slot = 0; slot < outages_.size(); ++slot) {
      if (stored.outage == 0 || outages_[slot].record.id != stored.outage) continue;
      it.outage = slot;
      outages_[slot].members.push_back(stored.controller);
    }
    arm(index);
    restore_steadiness(stored);
  }
  for (std::uint32_t slot = 0; slot < outages_.size(); ++slot) {
    wheel_.arm(outage_timer(slot), now_);
  }
  for (const Shelf& shelf : state.shelves) shelves_.push_back(shelf);
  wheel_.arm(shelf_timer(), now_);
}

void Watch::Impl::restore_steadiness(const ControllerRecord& stored) {
  const std::uint32_t index = stored.controller.value;
  const Steadiness& rule = rules(index).steadiness;
  if (!(stored.figure > 0) || !usable(rule)) return;
  controllers_[index].figure = FigureOfMerit(std::min(stored.figure, ceiling_of(rule)),
                                             std::min(stored.figure_at, now_), stored.unsteady);
  if (stored.standing == 0) return;
  next_outage_ = std::max(next_outage_, stored.standing + 1);
  const TankIndex tank = plan_.controllers[index].tank;
  const SitePlan& site = plan_.sites[site_of(index).value];
  Subject subject{stored.standing_scope, index};
  if (subject.scope == Scope::tank) subject.index = tank.value;
  if (subject.scope == Scope::site) subject.index = site_of(index).value;
  if (subject.scope == Scope::area) subject.index = site.area.value;
  if (subject.scope == Scope::provider) subject.index = site.provider.value;
  if (subject.scope == Scope::watcher || subject.index == AreaIndex::none_value) return;
  standing_.push_back({subject, index, stored.standing, stored.contact_since});
  wheel_.arm(standing_timer(index), controllers_[index].figure.reuse_at(now_, rule));
}

ControllerRecord Watch::Impl::record(ControllerIndex index) const {
  const Controller& it = controllers_[index.value];
  ControllerRecord record;
  record.controller = index;
  record.contact = it.contact;
  record.last_heard = it.last_heard;
  record.contact_since = it.contact_since;
  const Arrival::Learnt learnt = it.arrival.learnt();
  record.interval = learnt.interval;
  record.sent = learnt.sent;
  record.lost = learnt.lost;
  record.error = learnt.error;
  record.last_seq = it.newest.seq();
  record.last_uptime_s = it.newest.uptime_s();
  record.last_power = it.last_power;
  record.last_power_at = it.last_power_at;
  if (it.planned) record.planned_until = it.planned_until;
  if (it.outage != Controller::no_outage) record.outage = outages_[it.outage].record.id;
  record.by_broker = it.by_broker;
  record.figure = it.figure.penalty();
  record.figure_at = it.figure.as_of();
  record.unsteady = it.figure.unsteady();
  for (const Standing& standing : standing_) {
    if (standing.controller != index.value) continue;
    record.standing = standing.id;
    record.standing_scope = standing.subject.scope;
  }
  return record;
}

WatchState Watch::Impl::state() const {
  WatchState state;
  state.next_outage = next_outage_;
  for (std::uint32_t i = 0; i < count_; ++i) {
    state.controllers.push_back(record(ControllerIndex{i}));
  }
  for (const Outage& it : outages_) {
    if (it.used) state.outages.push_back(it.record);
  }
  state.outages.insert(state.outages.end(), closed_.begin(), closed_.end());
  state.shelves = shelves_;
  std::sort(state.outages.begin(), state.outages.end(),
            [](const OutageRecord& a, const OutageRecord& b) { return a.id < b.id; });
  return state;
}

const OutageRecord* Watch::Impl::outage_of(ControllerIndex controller) const {
  const std::uint32_t slot = controllers_[controller.value].outage;
  return slot == Controller::no_outage ? nullptr : &outages_[slot].record;
}

const OutageRecord* Watch::Impl::outage(OutageId id) const {
  for (const Outage& it : outages_) {
    if (it.used && it.record.id == id) return &it.record;
  }
  for (const OutageRecord& it : closed_) {
    if (it.id == id) return &it;
  }
  return nullptr;
}

GroupContact Watch::Impl::contact(TankIndex tank) const {
  std::uint32_t known = 0;
  std::uint32_t silent = 0;
  std::uint32_t late = 0;
  std::uint32_t returning = 0;
  for (const ControllerIndex member : plan_.tanks[tank.value].controllers) {
    const Contact contact = controllers_[member.value].contact;
    if (contact == Contact::enrolled) continue;
    ++known;
    if (contact == Contact::silent) ++silent;
    if (contact == Contact::overdue) ++late;
    if (contact == Contact::returning) ++returning;
  }
  const std::uint32_t needed = plan_.tanks[tank.value].detection.quorum.needed(known);
  if (known > 0 && silent >= needed) return GroupContact::lost;
  for (const Outage& it : outages_) {
    // Lost by a battery-backed controller's word, though that one is still heard.
    const bool covers = it.used && contains(it.record.subject, Subject{Scope::tank, tank.value});
    if (covers && silent > 0 && returning == 0) return GroupContact::lost;
    if (covers && returning > 0) return GroupContact::returning;
  }
  if (returning > 0 && silent + returning >= needed) return GroupContact::returning;
  return silent + late > 0 ? GroupContact::in_doubt : GroupContact::in_contact;
}

GroupContact Watch::Impl::contact(SiteIndex site) const {
  std::uint32_t known = 0;
  std::uint32_t lost = 0;
  std::uint32_t returning = 0;
  std::uint32_t doubt = 0;
  for (const TankIndex tank : plan_.sites[site.value].tanks) {
    ++known;
    switch (contact(tank)) {
      case GroupContact::in_contact:
        break;
      case GroupContact::in_doubt:
        ++doubt;
        break;
      case GroupContact::lost:
        ++lost;
        break;
      case GroupContact::returning:
        ++returning;
        break;
    }
  }
  const std::uint32_t needed = plan_.sites[site.value].detection.site_quorum.needed(known);
  if (known > 0 && lost >= needed) return GroupContact::lost;
  if (returning > 0 && lost + returning >= needed) return GroupContact::returning;
  return lost + returning + doubt > 0 ? GroupContact::in_doubt : GroupContact::in_contact;
}

AlarmState Watch::Impl::alarm(Subject subject) const {
  const AlarmState away = put_away_as(subject);
  if (away != AlarmState::normal) return away;
  AlarmState worst = AlarmState::normal;
  const auto urgency = [](AlarmState state) {
    switch (state) {
      case AlarmState::unacknowledged:
        return 3;
      case AlarmState::acknowledged:
        return 2;
      case AlarmState::returned_unacknowledged:
        return 1;
      default:
        return 0;
    }
  };
  const auto take = [&](const OutageRecord& record) {
    const bool touches = contains(record.subject, subject) || contains(subject, record.subject);
    if (touches && urgency(record.alarm) > urgency(worst)) worst = record.alarm;
  };
  for (const Outage& it : outages_) {
    if (it.used) take(it.record);
  }
  for (const OutageRecord& it : closed_) take(it);
  return worst;
}

}  // namespace ebbwatch
