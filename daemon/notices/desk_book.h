// What the notice desk remembers, and the few acts by which it changes: create, send, end, hold,
// release, withdraw. The rules of who is told what are in desk_rules.*; the face is notice_desk.h.
#pragma once

#include <cstdint>
#include <deque>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "core/site_plan.h"
#include "notices/answers.h"
#include "notices/call_list.h"
#include "notices/lanes.h"
#include "notices/notice.h"
#include "ports/entropy.h"
#include "settings/settings.h"

namespace ebbwatch {

/// How long a way may take to deliver before the next way is tried beside it. Ours.
inline constexpr Span fail_over_after = Span::of_s(30);

// Summaries. Ours: they are read on a small screen, by somebody who is awake by then.
inline constexpr Span flood_within = Span::of_min(10);
/// What is due within this time after the first notice too many goes in the same summary.
inline constexpr Span gathered_for = Span::of_s(20);
/// Between two summaries to one person by one way.
inline constexpr Span summary_every = Span::of_min(5);

/// Rows that belong in one store transaction, with the decision that caused them.
struct Changes {
  std::uint64_t ticket = 0;  ///< For NoticeDesk::committed(); 0 when there is nothing to store.
  std::vector<NoticeRow> notices;  ///< In order of creation.
  std::vector<AttemptRow> attempts;
  std::vector<CallRow> calls;
  std::vector<std::string> remarks;  ///< Sentences for the log, at level warning.
  std::vector<OutageId> run_out;     ///< Whose acknowledgement has run out.
  bool empty() const { return notices.empty() && attempts.empty() && calls.empty(); }
};

/// What the desk knows of one outage (or, under 0, of what belongs to none).
struct DeskOutage {
  CallState call;
  bool has_call = false;
  bool drill = false;          ///< An exercise, not an outage.
  bool standing = false;       ///< Told as unsteady, not yet as steady; of an exercise: not over.
  std::optional<Story> story;  ///< The loss as it is known now, for later steps and reminders.
  Cause told_cause = Cause::undetermined;
  Scope told_scope = Scope::controller;
  std::vector<std::string> notices;  ///< In order of creation.
  /// "GROUP KEYHOLDER NOTIFIER" of notices that another watcher has delivered.
  std::set<std::string> elsewhere;
  bool handed_over = false;  ///< Another watcher tells of it now.
  /// Of a standing alarm: when the daily digest names it again.
  std::optional<WallTime> named_again_at;
  std::vector<std::string> lists;  ///< Of a standing alarm: whose digest.
};

/// One call into the desk: its time, its source of chance, and what it changes.
struct Turn {
  WallTime now;
  Entropy* entropy = nullptr;  ///< Only where notices may be created or a wait drawn.
  Changes changes;
  std::set<std::string> touched;
  std::set<OutageId> touched_calls;
};

struct Blueprint {
  OutageId outage = 0;
  std::string group;
  Occasion occasion = Occasion::first;
  const Story* story = nullptr;
  std::string keyholder;
  std::vector<std::string> ways;  ///< Usable; the first is taken, the others are kept for later.
  std::string held_for;
  /// Of low ones: when the digest goes that tells it, unless one is being filled; empty: soon.
  std::optional<WallTime> digest_at{};
};

/// The beginning of a call. `entropy`: null where nothing is created.
Turn turn_at(WallTime now, Entropy* entropy);
/// A UUIDv7. @pre turn.entropy.
std::string new_identifier(Turn& turn);
/// How a delivered notice is named between watchers.
std::string delivered_key(const std::string& group, const std::string& keyholder,
                          const std::string& notifier);

class DeskBook {
 public:
  DeskBook(const Settings& settings, const WatchPlan& plan, Answers* answers)
      : settings_(&settings), plan_(&plan), answers_(answers) {
    set_lane_limits();
  }

  const Settings& settings() const { return *settings_; }
  const WatchPlan& plan() const { return *plan_; }
  const std::vector<StandInRow>& stand_ins() const { return stand_ins_; }
  void use(std::vector<StandInRow> stand_ins) { stand_ins_ = std::move(stand_ins); }
  void use(const Settings& settings, const WatchPlan& plan) {
    settings_ = &settings;
    plan_ = &plan;
    schedule_all_calls();
    set_lane_limits();
  }
  /// After calls were put back without touch_call().
  void schedule_all_calls();

  Notice* find(const std::string& id);
  DeskOutage* outage(OutageId id);
  /// The outage's entry, made when it is not there.
  DeskOutage& open(OutageId id) { return outages_[id]; }
  const std::map<OutageId, DeskOutage>& outages() const { return outages_; }
  const std::map<std::string, Notice>& notices() const { return notices_; }
  std::vector<Notice*> notices_of(const DeskOutage& outage);

  /// Of `by`, the notifiers that exist and for which the keyholder has the address.
  std::vector<std::string> usable_ways(const std::string& keyholder,
                                       const std::vector<std::string>& by) const;
  /// The keyholder's name for an identifier; anything else as it is.
  std::string display_name(const std::string& by) const;
  /// Whether `by` is this keyholder's identifier or name (in any case of letters).
  bool is_called(const std::string& keyholder, const std::string& by) const;
  std::optional<NotifierKind> kind_of(const std::string& notifier) const;

  /// Makes a notice by the first way. Null when that person had or will have one of this group by
  /// that way. Valid until the next create() or forget().
  Notice* create(Turn& turn, const Blueprint& blueprint);
  /// Puts back what was stored; takes its place in the queue when it may be sent.
  void restore(Notice notice);
  void touch(Turn& turn, Notice& notice);
  void touch_call(Turn& turn, OutageId id) { turn.touched_calls.insert(id); }

  void withdraw(Turn& turn, Notice& notice);
  void release(Turn& turn, Notice& notice, Occasion occasion, std::vector<std::string> other_ways);
  void give_up(Turn& turn, Notice& notice, const std::string& reason);

  /// After restore() of all notices: puts together again what goes in one summary or digest.
  void rejoin_bundles(Turn& turn);

  /// Not answering in time has no consequence for it any more.
  void stop_fail_over(Notice& notice);

  /// The next notice to send, marked as in flight.
  Notice* take(WallTime now);
  /// @return the notices whose attempt this was: itself, and of a summary those told in it.
  std::vector<std::string> end_attempt(Turn& turn, Notice& notice, const Outcome& outcome,
                                       double random);

  /// When a call list next has a turn. Cost: O(1).
  std::optional<WallTime> next_call_at() const;
  /// The daily digest names a standing alarm again then; empty: not again.
  void name_again(OutageId id, std::optional<WallTime> at);
  /// When that is next, and which are due.
  std::optional<WallTime> next_standing_at() const;
  std::vector<OutageId> standing_due(WallTime now) const;
  /// Whose turns are due. Stays as it is until finish().
  std::vector<OutageId> calls_due(WallTime now) const;

  /// What the carrier said later; kept as a row beside the attempts. @pre not in flight.
  /// @return those whose state changed: itself, and of a summary those told in it.
  std::vector<std::string> report(Turn& turn, Notice& notice, bool arrived,
                                  const std::string& status);

  /// Turns all that was touched into rows under one ticket, and forgets what has ended for good.
  Changes finish(Turn& turn);
  void committed(std::uint64_t ticket);

  /// Notices that have not been delivered in time and have another way left.
  std::optional<std::string> next_fail_over(WallTime now) const;
  std::optional<WallTime> next_fail_over_at() const;
  std::optional<WallTime> next_due() const { return lanes_.next_due(); }
  const Lanes& lanes() const { return lanes_; }

 private:
  struct Bundle {
    std::vector<std::string> members;
    bool open = true;  ///< Takes more: nothing of it was sent yet.
  };
  using PersonAndWay = std::pair<std::string, std::string>;

  void route(Turn& turn, Notice& notice, std::optional<WallTime> digest_at);
  bool is_flood(const Notice& notice, WallTime now);
  void join(Turn& turn, Notice& notice, Topic topic, WallTime at);
  Notice& new_bundle(Turn& turn, const Notice& first, Topic topic, WallTime at);
  Notice* open_bundle(const Notice& notice, Topic topic);
  void start_bundle(Notice& bundle, WallTime now);
  void fill_bundle(Notice& bundle, WallTime now);
  std::vector<Notice*> waiting_in(const std::string& bundle);
  void end_empty_bundle(Turn& turn, const std::string& bundle);
  void set_lane_limits();
  bool exists(const Blueprint& blueprint, const std::string& way);
  std::string first_notice_of(const Notice& notice);
  void place(Notice& notice);
  void unplace(Notice& notice);
  void forget_ended(OutageId id);
  void schedule_call(OutageId id);

  const Settings* settings_;
  const WatchPlan* plan_;
  Answers* answers_;  ///< Null: notices ask for no answer.
  std::map<std::string, Notice> notices_;
  std::map<OutageId, DeskOutage> outages_;
  std::vector<StandInRow> stand_ins_;
  std::map<std::string, Bundle> bundles_;  ///< By the summary's or digest's own identifier.
  std::map<PersonAndWay, std::deque<WallTime>> recent_;  ///< Alarms of the last flood_within.
  std::map<PersonAndWay, WallTime> summary_due_;         ///< The newest one that was planned.
  Lanes lanes_;
  std::set<std::pair<WallTime, std::string>> fail_overs_;
  std::set<std::pair<WallTime, OutageId>> standing_due_;
  std::set<std::pair<WallTime, OutageId>> calls_due_;
  std::map<OutageId, WallTime> call_due_at_;  ///< The same, to find it again.
  std::map<std::uint64_t, std::vector<std::string>> uncommitted_;
  std::uint64_t last_ticket_ = 0;
  std::uint64_t last_order_ = 0;
};

}  // namespace ebbwatch
