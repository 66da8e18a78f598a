// The whole of deciding: events in, decisions out, next deadline. The daemon, `ebbwatch replay`,
// the simulator and the tests all run this class; nothing about deciding lives anywhere else.
//
// Pure: no I/O, no clock, no thread, no logging, no exceptions for expected things. One owner.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <vector>

#include "core/decision.h"
#include "core/event.h"
#include "core/ids.h"
#include "core/shelf.h"
#include "core/site_plan.h"
#include "core/time.h"

namespace ebbwatch {

/// Contact of a controller (what is true).
enum class Contact : std::uint8_t { enrolled, present, overdue, silent, returning };
/// Contact of a tank or a site.
enum class GroupContact : std::uint8_t { in_contact, in_doubt, lost, returning };
/// Life of an alarm after ISA-18.2 (what people have been told and have answered).
enum class AlarmState : std::uint8_t {
  normal,
  unacknowledged,
  acknowledged,
  returned_unacknowledged,
  shelved,
  suppressed_by_design,
  out_of_service,
};

/// Words of the project's glossary with spaces as `_`, e.g. "in_contact".
const char* word(Contact contact);
const char* word(GroupContact contact);
const char* word(AlarmState state);

/// What must outlive the process, of one controller. Instants are on the Watch's axis.
struct ControllerRecord {
  ControllerIndex controller;
  Contact contact = Contact::enrolled;
  Instant last_heard = Instant::never();  ///< never(): not heard yet.
  Instant contact_since;                  ///< When `contact` began.
  Span interval;                          ///< As learnt; 0 when not learnt.
  std::optional<std::uint64_t> last_seq;
  std::optional<double> last_uptime_s;
  Power last_power = Power::unknown;
  Instant last_power_at;
  OutageId outage = 0;                       ///< The running outage that covers it; 0: none.
  Instant planned_until = Instant::never();  ///< End of a stop that it announced; never(): none.
  float sent = 0, lost = 0;                  ///< Arrival::Learnt
  Span error;                                ///< Arrival::Learnt
  double figure = 0;                         ///< Figure of merit (RFC 2439) as of figure_at.
  Instant figure_at;
  bool unsteady = false;
  OutageId standing = 0;  ///< The standing alarm that holds back its short losses; 0: none.
  Scope standing_scope = Scope::controller;  ///< What that alarm is about: it, its tank, its site…
  bool by_broker = false;                    ///< Its newest check-in came through the broker.
};

/// What must outlive the process, of one outage that is running or was just closed.
struct OutageRecord {
  OutageId id = 0;
  Subject subject;
  Instant since;
  Instant confirmed_at;
  Cause cause = Cause::undetermined;
  double confidence = 0;
  AlarmState alarm = AlarmState::unacknowledged;
  bool told = true;  ///< False: not told to anybody, since all of it is put away.
  bool closed = false;
  FixedList<Evidence, limits::evidence_per_decision> evidence;
};

struct WatchState {
  OutageId next_outage = 1;
  std::vector<ControllerRecord> controllers;
  std::vector<OutageRecord> outages;
  std::vector<Shelf> shelves;
};

class Watch {
 public:
  /// @param plan kept for the life of the Watch. @param now the start of its axis of time: nothing
  /// before it was watched.
  Watch(WatchPlan plan, Instant now);
  /// As above, going on from what an earlier process stored. Records of controllers that the plan
  /// no longer has must be left out by the caller (settings/plan.* maps identifiers to positions);
  /// outages without a remaining controller are closed with a recovery at the first tick. Time
  /// between the last stored moment and `now` counts as not watched.
  Watch(WatchPlan plan, Instant now, const WatchState& state);
  ~Watch();
  Watch(Watch&&) noexcept;
  Watch& operator=(Watch&&) noexcept;

  /// Feeds one event and appends what must now happen.
  /// @pre  event.at >= the previous event's time (checked, aborts).
  /// @post decisions are in a fixed order: same events in, same decisions out.
  /// Cost: O(1) for a check-in, O(deadlines due) for a tick. Allocates nothing for a check-in that
  /// causes no decision. Never throws. Deadlines earlier than event.at are decided first, each at
  /// its own time, so that a late tick gives the same decisions as a punctual one.
  void on(const Event& event, std::vector<Decision>& decisions);

  /// Controllers of which the witnesses are to be asked now (plan().asks_witnesses); appended, and
  /// not given again. The answers come as WitnessReachable and WitnessWord, then WitnessesHeardOut.
  /// Nothing waits for them longer than the plan's witness_limit.
  void take_questions(std::vector<ControllerIndex>& questions);
  /// Whether witnesses still hear this controller, which this watcher does not: a broken path.
  bool vouched(ControllerIndex controller) const;

  /// Gives away the number of the next outage: no outage will have it. For exercises, which share
  /// the numbers (and so the codes by which people answer) with outages.
  OutageId take_number();

  /// When the next decision may be due without any event; never() when nothing is armed.
  Instant next_deadline() const;

  const WatchPlan& plan() const;
  Contact contact(ControllerIndex controller) const;
  GroupContact contact(TankIndex tank) const;
  GroupContact contact(SiteIndex site) const;
  /// Shelved, suppressed by design or out of service when all that is heard of it is put away.
  AlarmState alarm(ControllerIndex controller) const;
  AlarmState alarm(TankIndex tank) const;
  AlarmState alarm(SiteIndex site) const;
  /// never() when it was not heard yet.
  Instant last_heard(ControllerIndex controller) const;
  /// The end of the stop that it announced and that is not over; never() when there is none.
  Instant planned_until(ControllerIndex controller) const;
  /// What is put away now, in order of subject.
  const std::vector<Shelf>& shelves() const;
  /// The running outage that covers the controller; null when there is none. Valid until next on().
  const OutageRecord* outage_of(ControllerIndex controller) const;
  const OutageRecord* outage(OutageId id) const;
  /// Whether this watcher's own link is trusted right now.
  bool uplink_trusted() const;

  ControllerRecord record(ControllerIndex controller) const;
  /// Everything that must outlive the process.
  WatchState state() const;

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace ebbwatch
