// Inside of Watch; not for others. One class, several files by what they do: watch.cpp (events in),
// watch_contact.cpp (contact of each controller), watch_judge.cpp (is it a loss, and of what),
// watch_outage.cpp (running outages), watch_evidence.cpp (cause and sentences), watch_record.cpp
// (what outlives the process), watch_shelf.cpp (what is put away), watch_witness.cpp (asking
// others).
#pragma once

#include <algorithm>
#include <cstdint>
#include <optional>
#include <vector>

#include "core/cause.h"
#include "core/contact.h"
#include "core/scope.h"
#include "core/self_trust.h"
#include "core/timing_wheel.h"
#include "core/watch.h"
#include "core/witness_quorum.h"

namespace ebbwatch {

/// So many sites that fall silent at the same moment are first the watcher's own fault.
inline constexpr std::uint32_t mass_sites = 3;

class Watch::Impl {
 public:
  Impl(WatchPlan plan, Instant now);
  void restore(const WatchState& state);
  void on(const Event& event, std::vector<Decision>& decisions);
  OutageId take_number() { return next_outage_++; }
  Instant next_deadline() const;

  const WatchPlan& plan() const { return plan_; }
  const Controller& controller(ControllerIndex index) const { return controllers_[index.value]; }
  GroupContact contact(TankIndex tank) const;
  GroupContact contact(SiteIndex site) const;
  AlarmState alarm(Subject subject) const;
  Instant planned_until(ControllerIndex controller) const;
  const std::vector<Shelf>& shelves() const { return shelves_; }
  const OutageRecord* outage_of(ControllerIndex controller) const;
  const OutageRecord* outage(OutageId id) const;
  void take_questions(std::vector<ControllerIndex>& questions);
  bool uplink_trusted() const { return trust_.link_trusted(); }
  ControllerRecord record(ControllerIndex index) const;
  WatchState state() const;

 private:
  struct Outage {
    OutageRecord record;
    std::vector<ControllerIndex> members;
    Onset onset;
    CauseFacts facts;  // as known while it lasts
    bool used = false;
    bool partial = false;  // some tanks of a site whose others were heard
  };
  /// A source that is told as unsteady instead of as one loss after another.
  struct Standing {
    Subject subject;
    std::uint32_t controller = 0;
    OutageId id = 0;
    Instant since;
  };
  /// When the mains of a site went off, and who says so.
  struct MainsOff {
    Instant not_before;             // somebody there still had it
    Instant by = Instant::never();  // it was off at the latest
    Instant newest;                 // newest word that it is off
    std::uint32_t reports = 0;      // battery-backed controllers that say so
  };
  /// What a judgement found: who is lost, and as what.
  struct Verdict {
    Subject subject;
    std::vector<std::uint32_t> lost;  // together, not yet covered by an outage
    std::uint32_t joins = Controller::no_outage;
    Onset onset;
    std::optional<Instant> hold_until;  // not yet: look again then
    bool by_battery = false;
    std::uint32_t part = 0;  // tanks of a site, or sites of a group, that are lost
    std::uint32_t whole = 0;
    bool partial = false;  // the site is named, though not lost by its quorum
  };

  // watch_record.cpp
  void restore_steadiness(const ControllerRecord& stored);

  // watch.cpp
  void apply(const Event& event);
  void drain(Instant until);
  void judge_ready(Instant at);
  void close(const std::optional<BlindSpell>& spell);
  bool reaches(const BlindSpell& spell, std::uint32_t controller) const;
  void tell_gap(const BlindSpell& spell, bool lasts);
  bool is_proven(std::uint32_t controller) const;
  void broker_answers(bool answers, Instant at);
  void look_at_broker(Instant at);
  void end_mass_silence(std::uint32_t index, Instant at);
  Path path_of(std::uint32_t controller) const;
  SiteIndex site_of(std::uint32_t controller) const;
  const Detection& rules(std::uint32_t controller) const;
  void decide(DecisionKind kind, const OutageRecord& record, Instant at, Instant since);

  // watch_contact.cpp
  void check_in(const CheckIn& check_in, Instant at);
  void take_power(std::uint32_t index, const CheckIn& check_in, Instant at);
  void begin_return(std::uint32_t index, const CheckIn& check_in, bool restarted, Instant at);
  void note_break(std::uint32_t index, Instant at);
  void arm(std::uint32_t index);
  void fire(std::uint32_t index, Instant at);
  void fire_returning(std::uint32_t index, Instant at);
  void put_up(std::uint32_t index, Instant at);
  void mains_report(SiteIndex site, Instant at);
  MainsOff mains_off(SiteIndex site, Onset onset, Instant at) const;
  Instant mains_believed_at(SiteIndex site, std::uint32_t seed, Instant at) const;
  bool on_battery_since(std::uint32_t index, Onset onset) const;

  // watch_judge.cpp
  void judge(std::uint32_t index, Instant at);
  Witnesses::Answer witnesses_answer(std::uint32_t index, Instant at) const;
  bool witnesses_agree(std::uint32_t index, Instant at) const;
  bool hold(std::uint32_t index, Instant until);
  Verdict verdict(std::uint32_t index, Instant at) const;
  void verdict_of_site(std::uint32_t index, Instant at, const SiteTally& site, Verdict& out) const;
  void verdict_of_group(std::uint32_t index, Instant at, Verdict& out) const;
  std::optional<Instant> not_sure_until(std::uint32_t index, Instant at, const Verdict& out) const;
  bool is_shaky(std::uint32_t index, Instant at) const;
  Instant lasts_from(std::uint32_t index) const;
  bool is_late(SiteIndex site) const;
  bool fault_is_mine(std::uint32_t index, Instant at) const;
  void collect_lost(SiteIndex site, Verdict& out) const;
  std::uint32_t covering(std::uint32_t index, const Verdict& verdict, Instant at) const;
  bool ran_down(std::uint32_t index, const Outage& outage, Subject verdict, Instant at) const;
  bool same_moment(Onset onset, const Outage& outage) const;
  Subject around(Subject one, Subject other) const;
  std::optional<SiteIndex> site_around(Subject subject) const;

  // watch_witness.cpp
  bool heard_out(std::uint32_t index, Instant at);
  template <class Act>
  void for_sites_around(SiteIndex own, const Act& act);
  void ask_about(std::uint32_t index, Instant at);
  void weigh_around(std::uint32_t index, Instant at);
  void ask_of_site(SiteIndex site, Instant at);
  void ask_one(std::uint32_t index, Instant at);
  void weigh(std::uint32_t index, Instant at);
  bool lost_its_relay(std::uint32_t index, Instant at) const;
  bool deserted(std::uint32_t index, Instant at) const;
  void judge_heard_out(std::uint32_t index, Instant at);
  bool not_yet_due(std::uint32_t index, Instant at);

  // watch_outage.cpp
  void lose(std::uint32_t index, const Verdict& verdict, Instant at);
  void join(std::uint32_t slot, const Verdict& verdict, Instant at);
  void cover(std::uint32_t slot, std::uint32_t controller, Instant at);
  std::uint32_t take_slot();
  Evidence unsteady_fact(std::uint32_t index, Subject subject, Instant at) const;
  Evidence planned_fact(std::uint32_t index) const;
  Evidence patience_fact(std::uint32_t index, Instant at) const;
  void hold_back(std::uint32_t index, const Verdict& verdict, Instant at);
  void settle(std::uint32_t slot, Instant at);
  void settle_standing(std::uint32_t controller, Instant at);
  void recover(std::uint32_t slot, Instant at);
  void narrow(std::uint32_t slot, Instant at);
  void release_returned(std::uint32_t slot);
  Subject narrowest(const Outage& outage) const;
  void hear_of_battery(std::uint32_t controller, Instant at);

  // watch_shelf.cpp
  void put_away(const Shelf& shelf, Instant at);
  void put_back(Subject subject, Shelf::Kind kind, Instant at);
  void end_shelves(Instant at);
  void arm_shelves();
  void give_chance(Instant heard_from);
  void reconsider(std::uint32_t slot, Instant at);
  void tell_late(Outage& outage, Instant at);
  AlarmState put_away_as(std::uint32_t controller) const;
  AlarmState put_away_as(Subject subject) const;
  AlarmState put_away_as(const Outage& outage) const;
  AlarmState put_away_together(const std::vector<ControllerIndex>& controllers) const;
  std::vector<ControllerIndex> live_of(Subject subject) const;
  bool any_unheard(const Outage& outage) const;
  Instant due(const Shelf& shelf) const { return std::max(shelf.until, shelves_not_before_); }

  bool contains(Subject wide, Subject narrow) const;
  bool is_member_of(std::uint32_t controller, Subject subject) const;

  // watch_evidence.cpp
  CauseFacts facts_of(const Verdict& verdict, std::uint32_t index, Instant at) const;
  CauseFacts facts_of_return(const Outage& outage) const;
  void tell_silence(const Verdict& verdict, std::uint32_t index, Instant at,
                    OutageRecord& record) const;
  void tell_scope(const Verdict& verdict, OutageRecord& record) const;
  std::uint32_t tell_power(Subject subject, Onset onset, OutageRecord& record) const;
  void tell_return(const Outage& outage, OutageRecord& record) const;
  bool believe_anew(OutageRecord& record, const CauseFacts& facts) const;

  // Timers: one of each controller, of each outage slot, of each standing one, of each site, and
  // one of all that is put away.
  std::uint32_t outage_timer(std::uint32_t slot) const { return count_ + slot; }
  std::uint32_t standing_timer(std::uint32_t controller) const { return 2 * count_ + controller; }
  std::uint32_t site_timer(std::uint32_t site) const { return 3 * count_ + site; }
  std::uint32_t shelf_timer() const {
    return 3 * count_ + static_cast<std::uint32_t>(plan_.sites.size());
  }

  WatchPlan plan_;
  std::uint32_t count_ = 0;  // controllers
  std::vector<Controller> controllers_;
  TimingWheel wheel_;
  SelfTrust trust_;
  Witnesses witnesses_;
  ScopeView view_;
  std::vector<Outage> outages_;
  std::vector<OutageRecord> closed_;
  std::vector<Standing> standing_;
  std::vector<Shelf> shelves_;
  Instant shelves_not_before_;  // after a blind spell whoever is back is given time to be heard
  std::optional<Shelf> ended_;  // the shelf that ends just now, for the sentence about it
  std::vector<std::uint32_t> ready_;
  std::vector<std::uint32_t> reconsidered_;  // being judged now
  std::vector<ControllerIndex> questions_;
  OutageId next_outage_ = 1;
  Instant now_;
  Instant last_decision_;
  Instant last_remote_;      // newest check-in that came over the link
  bool mine_ = false;        // everybody fell silent at once: held as this watcher's own fault
  OutageId broker_gap_ = 0;  // of the broker that does not answer, told while that lasts
  Instant broker_look_at_;   // when that may have lasted long enough to be told
  std::vector<Decision>* out_ = nullptr;
};

}  // namespace ebbwatch
