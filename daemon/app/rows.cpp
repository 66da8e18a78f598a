#include "app/rows.h"

#include <algorithm>
#include <array>
#include <string_view>
#include <unordered_map>

namespace ebbwatch {
namespace {

using Places = std::unordered_map<std::string_view, std::uint32_t>;

template <class Items>
Places places_of(const Items& items) {
  Places places;
  for (std::uint32_t i = 0; i < items.size(); ++i) places.emplace(items[i].id, i);
  return places;
}

/// Positions of all subjects of a plan by scope and identifier.
class SubjectFinder {
 public:
  explicit SubjectFinder(const WatchPlan& plan)
      : tables_{places_of(plan.controllers), places_of(plan.tanks),     places_of(plan.sites),
                places_of(plan.areas),       places_of(plan.providers), Places{{plan.watcher, 0}}} {
  }

  std::optional<Subject> find(Scope scope, std::string_view id) const {
    const auto& table = tables_[static_cast<std::size_t>(scope)];
    const auto found = table.find(id);
    if (found == table.end()) return std::nullopt;
    return Subject{scope, found->second};
  }

 private:
  std::array<Places, 6> tables_;
};

/// The enumerator whose word is `text`; `fallback` for a word that this version does not know.
template <class Enum>
Enum from_word(std::string_view text, std::initializer_list<Enum> all, Enum fallback) {
  for (const Enum one : all) {
    if (text == word(one)) return one;
  }
  return fallback;
}

constexpr std::initializer_list<Scope> scopes{Scope::controller, Scope::tank,     Scope::site,
                                              Scope::area,       Scope::provider, Scope::watcher};
constexpr std::initializer_list<Cause> causes{Cause::undetermined, Cause::mains_power,
                                              Cause::internet, Cause::controller,
                                              Cause::watcher_uplink};
constexpr std::initializer_list<Contact> contacts{
    Contact::enrolled, Contact::present, Contact::overdue, Contact::silent, Contact::returning};
constexpr std::initializer_list<AlarmState> alarm_states{AlarmState::normal,
                                                         AlarmState::unacknowledged,
                                                         AlarmState::acknowledged,
                                                         AlarmState::shelved,
                                                         AlarmState::returned_unacknowledged,
                                                         AlarmState::out_of_service,
                                                         AlarmState::suppressed_by_design};

std::string power_word(Power power) {
  if (power == Power::mains) return "mains";
  return power == Power::battery ? "battery" : "";
}

Power power_from(std::string_view text) {
  if (text == "mains") return Power::mains;
  return text == "battery" ? Power::battery : Power::unknown;
}

}  // namespace

ControllerRow to_row(const ControllerRecord& record, const WatchPlan& plan, const Clock& clock) {
  ControllerRow row;
  row.controller = plan.controllers[record.controller.value].id;
  row.contact = word(record.contact);
  if (!record.last_heard.is_never()) row.last_heard = clock.to_wall(record.last_heard);
  row.contact_since = clock.to_wall(record.contact_since);
  row.interval = record.interval;
  row.seq = record.last_seq;
  row.uptime_s = record.last_uptime_s;
  row.power = power_word(record.last_power);
  row.power_at = clock.to_wall(record.last_power_at);
  row.outage = record.outage;
  if (!record.planned_until.is_never()) row.planned_until = clock.to_wall(record.planned_until);
  row.sent = static_cast<double>(record.sent);
  row.lost = static_cast<double>(record.lost);
  row.error = record.error;
  row.figure = record.figure;
  row.figure_at = clock.to_wall(record.figure_at);
  row.unsteady = record.unsteady;
  row.standing = record.standing;
  row.standing_scope = word(record.standing_scope);
  row.by_broker = record.by_broker;
  return row;
}

OutageRow to_row(const OutageRecord& record, const WatchPlan& plan, const Clock& clock) {
  OutageRow row;
  row.id = record.id;
  row.scope = word(record.subject.scope);
  row.subject = subject_id(plan, record.subject);
  row.since = clock.to_wall(record.since);
  row.confirmed_at = clock.to_wall(record.confirmed_at);
  row.cause = word(record.cause);
  row.confidence = record.confidence;
  row.alarm = word(record.alarm);
  row.told = record.told;
  row.closed = record.closed;
  return row;
}

ShelfRow to_row(const Shelf& shelf, const WatchPlan& plan) {
  ShelfRow row;
  row.scope = word(shelf.subject.scope);
  row.subject = subject_id(plan, shelf.subject);
  row.kind = word(shelf.kind);
  return row;
}

Shelf to_shelf(const ShelfRow& row, Subject subject, const Clock& clock) {
  Shelf shelf;
  shelf.subject = subject;
  shelf.kind =
      row.kind == word(Shelf::Kind::shelved) ? Shelf::Kind::shelved : Shelf::Kind::out_of_service;
  if (row.until) shelf.until = clock.to_instant(*row.until);
  return shelf;
}

WatchState to_state(const StoredState& stored, const WatchPlan& plan, const Clock& clock) {
  const SubjectFinder finder(plan);
  const auto past = [&clock](WallTime t) { return std::min(clock.to_instant(t), clock.now()); };
  WatchState state;
  state.next_outage = stored.next_outage;
  for (const auto& row : stored.outages) {
    const Scope scope = from_word(row.scope, scopes, Scope::controller);
    const auto subject = finder.find(scope, row.subject);
    if (!subject) continue;
    OutageRecord record;
    record.id = row.id;
    record.subject = *subject;
    record.since = past(row.since);
    record.confirmed_at = past(row.confirmed_at);
    record.cause = from_word(row.cause, causes, Cause::undetermined);
    record.confidence = row.confidence;
    record.alarm = from_word(row.alarm, alarm_states, AlarmState::unacknowledged);
    record.told = row.told;
    record.closed = row.closed;
    state.outages.push_back(record);
  }
  for (const auto& row : stored.controllers) {
    const auto subject = finder.find(Scope::controller, row.controller);
    if (!subject) continue;
    ControllerRecord record;
    record.controller = {subject->index};
    // Somebody who was heard stays somebody whose silence is told.
    record.contact = from_word(row.contact, contacts, Contact::present);
    if (row.last_heard) record.last_heard = past(*row.last_heard);
    record.contact_since = past(row.contact_since);
    record.interval = row.interval;
    record.last_seq = row.seq;
    record.last_uptime_s = row.uptime_s;
    record.last_power = power_from(row.power);
    record.last_power_at = past(row.power_at);
    if (row.planned_until) record.planned_until = clock.to_instant(*row.planned_until);
    record.sent = static_cast<float>(row.sent);
    record.lost = static_cast<float>(row.lost);
    record.error = row.error;
    record.figure = row.figure;
    record.figure_at = past(row.figure_at);
    record.unsteady = row.unsteady;
    record.standing = row.standing;
    record.standing_scope = from_word(row.standing_scope, scopes, Scope::controller);
    record.by_broker = row.by_broker;
    const auto covers = [&row](const OutageRecord& outage) { return outage.id == row.outage; };
    if (std::any_of(state.outages.begin(), state.outages.end(), covers)) record.outage = row.outage;
    state.controllers.push_back(record);
  }
  for (const auto& row : stored.shelves) {
    const auto subject = finder.find(from_word(row.scope, scopes, Scope::tank), row.subject);
    if (subject) state.shelves.push_back(to_shelf(row, *subject, clock));
  }
  return state;
}

WatchState carry_over(const WatchState& state, const WatchPlan& from, const WatchPlan& to) {
  const SubjectFinder finder(to);
  WatchState carried;
  carried.next_outage = state.next_outage;
  for (auto record : state.outages) {
    const auto subject = finder.find(record.subject.scope, subject_id(from, record.subject));
    if (!subject) continue;
    record.subject = *subject;
    // Evidence holds positions of the old plan; the sentences already told are in the history.
    record.evidence.clear();
    carried.outages.push_back(record);
  }
  for (Shelf shelf : state.shelves) {
    const auto subject = finder.find(shelf.subject.scope, subject_id(from, shelf.subject));
    if (!subject) continue;
    shelf.subject = *subject;
    carried.shelves.push_back(shelf);
  }
  for (auto record : state.controllers) {
    const auto place = finder.find(Scope::controller, from.controllers[record.controller.value].id);
    if (!place) continue;
    record.controller = {place->index};
    const auto covers = [&record](const OutageRecord& outage) {
      return outage.id == record.outage;
    };
    if (std::none_of(carried.outages.begin(), carried.outages.end(), covers)) record.outage = 0;
    carried.controllers.push_back(record);
  }
  return carried;
}

}  // namespace ebbwatch
