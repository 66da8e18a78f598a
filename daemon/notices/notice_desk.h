// The whole of telling people, without doing any of it: decisions, answers and acknowledgements in;
// rows to commit and messages to send out. app/ drives it and does the I/O.
//
// Order of work ("stored before told"): feed the desk, commit the rows of Changes in the same store
// transaction as the decision, call committed(changes.ticket), then take_due(). A new notice is not
// offered before its ticket was committed. When the store has failed for good the app may call
// committed() all the same: silence would be the worst answer.
//
// Times are wall times, because they are stored and told. `now` should come from a clock that is
// set seldom; steps are survived (delivery_plan.h). Pure: no I/O, no clock, no thread. One owner.
#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/decision.h"
#include "notices/desk_book.h"
#include "notices/made_up_loss.h"
#include "notices/story.h"
#include "ports/entropy.h"
#include "ports/notifier.h"
#include "ports/store.h"
#include "settings/settings.h"

namespace ebbwatch {

/// What the desk needs to know about a decision.
struct DeskContext : DecisionContext {
  WallTime now;  ///< When the desk hears of it; >= at.
  std::vector<SiteIndex>
      sites;  ///< Really covered by an area or provider outage; empty: all of it.
};

/// One attempt that should start now.
struct Send {
  std::string notifier;
  Message message;
};

class NoticeDesk {
 public:
  /// `settings` and `plan` must outlive the desk, or be replaced by reload(). `answers` must
  /// outlive it; without, notices carry neither code nor link.
  NoticeDesk(const Settings& settings, const WatchPlan& plan, Answers* answers = nullptr);

  /// Takes up what an earlier process stored: who was told, what is still to be sent. Notices that
  /// may have been in flight are offered again with the same identifier. Call once, first. Rows
  /// that cannot be read become dead letters with a remark.
  Changes restore(const StoredState& state, WallTime now, Entropy& entropy);
  /// Goes on with other settings. Notices whose notifier is gone are given up and fail over.
  Changes reload(const Settings& settings, const WatchPlan& plan, WallTime now, Entropy& entropy);

  /// Who is to be told of it. A watch gap not longer than the shortest on-delay is told to nobody,
  /// nor is a revision that changes little, nor anything held but the recovery of what was told.
  Changes on_decision(const Decision& decision, const DeskContext& context, Entropy& entropy);
  /// An exercise, to everybody in `calls` by every usable way, each once. A loss calls off what has
  /// not been delivered of it by then; it stays open until end_drill().
  Changes on_drill(const MadeUpLoss& made, const std::vector<Call>& calls, WallTime now,
                   Entropy& entropy);
  /// Everybody has answered, or nobody is waited for any more. Unknown numbers change nothing.
  Changes end_drill(OutageId number, WallTime now);
  /// The answer to an attempt from take_due(). An unknown identifier changes nothing.
  Changes on_outcome(const std::string& notice, const Outcome& outcome, WallTime now,
                     Entropy& entropy);
  /// What the carrier reports of a notice after its answer: that it arrived, or that it never will,
  /// which sets the next way going as a refusal does. Unknown identifiers change nothing.
  /// @pre not under_way(notice).
  Changes on_report(const std::string& notice, bool arrived, const std::string& status,
                    WallTime now, Entropy& entropy);
  /// Whether an attempt is running.
  bool under_way(const std::string& notice) const;
  /// Whether this keyholder was told of the outage by any way, or may have been.
  bool was_told(OutageId outage, const std::string& keyholder) const;
  /// The call list stops until the acknowledgement runs out (`acknowledged_for`); what was not
  /// delivered yet is withdrawn; the others who were told hear who has it. Unknown outages change
  /// nothing.
  Changes on_acknowledge(OutageId outage, const Acknowledgement& given, WallTime now,
                         Entropy& entropy);
  /// What this outage is about was put away (shelved): its calls stop until the core tells the loss
  /// late. Unknown outages change nothing.
  Changes on_put_away(OutageId outage, WallTime now);
  /// Another watcher tells of this outage from now on: no more calls, and not its end either.
  Changes on_hand_over(OutageId outage, WallTime now);
  /// Another watcher has delivered these ("GROUP KEYHOLDER NOTIFIER"): not once more from here.
  Changes on_reached_elsewhere(OutageId outage, const std::vector<std::string>& delivered,
                               WallTime now);
  /// The notices of the outage that were delivered from here, in that form.
  std::vector<std::string> delivered_of(OutageId outage) const;
  /// Whether people are, or were, called for a running outage.
  bool calls_for(OutageId outage) const;
  /// Whether the store takes what is committed. Told when it has failed for store_failing_after;
  /// committed() must go on being called, so that this notice is sent all the same.
  Changes on_store(bool failing, const std::string& reason, WallTime now, Entropy& entropy);
  /// Whether a notifier would deliver, as far as is known. One that has failed for
  /// notifier_failing_after goes into the daily digest of those who answer for the watcher; so does
  /// its return.
  void on_notifier(const std::string& notifier, bool failing, const std::string& reason,
                   WallTime now);
  /// A way to somebody has not been proven for too long; `lists` ask for it. Into the daily digest.
  /// A reading is out of its limits (kind loss) or normal again (recovery); `decision` has tank,
  /// outage and times. What is not urgent goes into the daily digest.
  Changes on_reading(const Decision& decision, const ReadingNews& news, const std::string& json,
                     const DeskContext& context, Entropy& entropy);
  Changes on_unproven(const std::string& keyholder, const std::string& notifier,
                      std::optional<WallTime> proven_at, const std::vector<std::string>& lists,
                      WallTime now, Entropy& entropy);
  /// Who is called in place of whom, from now on.
  void use(std::vector<StandInRow> stand_ins) { book_.use(std::move(stand_ins)); }
  /// Who has taken the outage on; empty: nobody, or the outage is not known here.
  std::string taken_by(OutageId outage) const;
  /// Steps and reminders of call lists, acknowledgements that run out (Changes::run_out), and ways
  /// that have not answered in time.
  Changes on_tick(WallTime now, Entropy& entropy);

  /// The rows of all Changes up to this ticket are durable.
  void committed(std::uint64_t ticket);
  /// Attempts to start now; each is in flight until on_outcome(). At most
  /// limits::notices_in_flight_per_notifier_max at once for one notifier; the others wait in order.
  std::vector<Send> take_due(WallTime now);
  /// When on_tick() or take_due() next has something to do. Empty: only after another call.
  std::optional<WallTime> next_deadline() const;

  /// Notices that are not delivered yet and still wanted.
  std::size_t waiting() const;
  /// Of one notifier: queued and in flight.
  std::size_t queued(const std::string& notifier, WallTime now) const {
    return book_.lanes().queued(notifier, now);
  }
  std::size_t in_flight(const std::string& notifier) const {
    return book_.lanes().in_flight(notifier);
  }
  /// Outages and notices in memory: those that have ended are forgotten.
  std::size_t outages() const { return book_.outages().size(); }
  std::size_t notices() const { return book_.notices().size(); }

 private:
  struct Failing {
    WallTime since;
    std::string reason;
    bool told = false;
    bool over = false;  ///< It works again, and those who were told do not know yet.
  };
  void tell_of_store(Turn& turn);
  void tell_of_notifiers(Turn& turn);

  DeskBook book_;
  std::optional<WallTime> store_failing_since_;
  std::string store_failing_reason_;
  bool store_failing_told_ = false;
  std::map<std::string, Failing> failing_;  ///< By notifier.
};

/// A notifier that fails for shorter than this is told to nobody.
inline constexpr Span notifier_failing_after = Span::of_min(10);

}  // namespace ebbwatch
