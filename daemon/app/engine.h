// The middle of the daemon: events into the core, its decisions into one transaction with the
// notices that they cause, then on to the dispatcher. Decide, commit, act. Lives on the loop.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/steady_timer.hpp>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "app/answer_book.h"
#include "app/clock_guard.h"
#include "app/committer.h"
#include "app/dispatcher.h"
#include "app/drill_book.h"
#include "app/proof_book.h"
#include "app/reading_book.h"
#include "app/shelf_book.h"
#include "app/stand_in_book.h"
#include "app/witnessing.h"
#include "core/watch.h"
#include "ingest/check_in_handler.h"
#include "notices/drill_plan.h"
#include "ports/clock.h"
#include "ports/entropy.h"
#include "settings/settings.h"
#include "witness/telling.h"

namespace ebbwatch {

class Engine final : public CheckInSink {
 public:
  struct Parts {
    boost::asio::any_io_executor loop;
    Tasks& tasks;
    const Clock& clock;
    Entropy& entropy;
    Committer& committer;
    /// Called on every turn of the loop that was on time; feeds the service manager's watchdog.
    std::function<void()> on_time;
    /// Called after every event of the core: what is true, or what people have answered, may
    /// differ.
    std::function<void()> changed;
    /// Called when witness_requests() may have something.
    std::function<void()> witness_news = [] {};
  };

  Engine(Parts parts, Settings settings, Notifiers notifiers);

  /// Goes on from what an earlier process stored, or from nothing, and begins to decide.
  void start(const StoredState& stored);
  /// Other settings from now on. @pre they have no problems. Contact, outages and notices go on.
  void reload(Settings settings, Notifiers notifiers);
  /// Decides no more and stores what is known; `done` follows when it is stored, or cannot be.
  void stop(std::function<void()> done);

  CheckInAnswer accept(const Credential& credential, const ParsedCheckIn& parsed,
                       const std::string& remote_address, Instant at) override;
  void refused(int status, const std::string& controller, const std::string& remote_address,
               const std::string& detail) override;
  void uplink(ReferenceIndex reference, bool answered);
  /// The MQTT broker answered, or does not any more; false also says that there is one.
  void broker(bool answers);
  /// Also answers an exercise. Errors: not_found (no such outage is running; the exercise did not
  /// go to that person).
  Result<void> acknowledge(OutageId outage, const Acknowledgement& given);
  /// Begins an exercise. Errors: as plan_drill(); busy (an outage is running).
  Result<DrillRow> drill(const DrillWish& wish);
  const ReadingBook& readings() const { return readings_; }
  const DrillBook& drills() const { return drills_; }
  /// How each way to each person stands.
  std::vector<WayProof> ways() const;
  /// Shelves, or takes out of service. Errors: as ShelfBook::check().
  Result<ShelfRow> put_away(const ShelfWish& wish);
  /// Takes off the shelf, or puts in service. Errors: not_found (also when it was not put away),
  /// bad_input.
  Result<ShelfRow> put_back(const std::string& subject, Shelf::Kind kind, const std::string& by);

  /// Somebody is called in place of somebody else. Errors: as StandInBook::check().
  Result<StandInRow> stand_in(const StandInWish& wish);
  /// Errors: not_found (nobody stands in for them).
  Result<StandInRow> end_stand_in(const std::string& absent);
  const std::vector<StandInRow>& stand_ins() const { return stand_ins_.rows(); }

  /// Messages to witnesses that are to be sent now; each ends in one of the two below.
  std::vector<Exchange::Request> witness_requests();
  void witness_answered(const std::string& from, const WitnessMessage& answer);
  void witness_failed(const std::string& from);
  /// A proven message from a witness, and what to answer; empty: it is none.
  std::optional<WitnessMessage> serve_witness(const std::string& from,
                                              const WitnessMessage& request);
  const Witnessing& witnessing() const { return witnessing_; }

  /// "harbour-17", or the name that watchers share: "elm-street-5".
  std::string outage_name(OutageId outage) const;
  /// By its shared name; empty: none has it.
  std::optional<OutageId> find_outage(const std::string& text) const;
  const TellingOrder& telling() const { return telling_; }

  const Settings& settings() const { return settings_; }
  const Watch& watch() const { return *watch_; }
  /// Who has taken the running outage on (identifier or name); empty: nobody has it now.
  std::string taken_by(OutageId outage) const;
  /// The newest check-ins with readings of the subject's controllers.
  std::vector<LastHeard> last_heard_of(Subject subject) const;
  AnswerBook& answers() { return answers_; }
  const std::vector<ShelfRow>& shelves() const { return shelf_book_.rows(); }
  Dispatcher& dispatcher() { return dispatcher_; }

 private:
  struct Heard {  ///< The newest check-in of one controller with its readings.
    WallTime at;
    std::string readings_json;
    std::optional<WallTime> datagram_at;  ///< ControllerRow::datagram_at
  };

  Instant enter();
  void feed(Event event);
  void feed_from_witness(const Event& event);
  void note_duties(Subject lost);
  void settle();
  std::uint64_t add_decision(const Decision& decision, Batch& batch);
  DeskContext context_of(const Decision& decision) const;
  DecisionRow row_of(const Decision& decision, const DeskContext& context) const;
  void add_outage(const Decision& decision, Batch& batch);
  void add_dirty(Batch& batch);
  void mark(ControllerIndex controller);
  void sweep_shelves();
  void add_changed_alarms(Batch& batch);
  void add_watcher_row(const char* kind, const std::string& subject, bool ok);
  void arm();
  void turn();
  std::optional<TellingOrder::Place> shared_place(Subject subject) const;
  void restore_telling(const StoredState& stored, Instant now);
  void note_telling(const Decision& decision);
  void act_on_telling();
  void tell_shared(const TellingAct& act);
  void acknowledged_elsewhere(const TellingAct& act);
  void put_away_elsewhere(const TellingAct& act);
  void tick_telling(Instant now);
  void share_outages();
  void learn_from(const std::string& witness, const WitnessMessage& message, Instant now);
  void acknowledgement_ran_out(OutageId outage);
  void change_alarm(const Event& event, OutageId outage);
  Result<void> may_drill() const;
  Result<DrillRow> begin_drill(const DrillPlan& plan, const std::string& by);
  Result<void> answer_drill(OutageId number, const Acknowledgement& given);
  void note_proof(OutageId outage, const Acknowledgement& given);
  void judge_readings(ControllerIndex controller, const ParsedCheckIn& parsed, Batch& batch);
  std::uint64_t begin_reading(ReadingBook::Entry& entry, const ReadingChange& change, Batch& batch);
  std::uint64_t end_reading(ReadingBook::Entry& entry, const ReadingChange& change, Batch& batch);
  std::uint64_t add_reading(const ReadingBook::Entry& entry, DecisionKind kind,
                            const ReadingChange& change, Batch& batch);
  bool tells_readings_of(TankIndex tank) const;
  void drop_readings(const std::vector<ReadingBook::Entry>& gone);
  void tend_readings();
  void store_reading(const ReadingBook::Entry& entry);
  void tend_drills();
  void tend_people();
  void end_stand_ins(const std::vector<StandInRow>& ended);

  Parts parts_;
  Settings settings_;
  WatchPlan plan_;
  std::unique_ptr<Watch> watch_;
  AnswerBook answers_;
  Dispatcher dispatcher_;
  ClockGuard guard_;
  boost::asio::steady_timer timer_;
  Instant armed_for_ = Instant::never();
  std::optional<bool> broker_answers_;  ///< Empty: there is no broker.
  std::vector<Decision> decisions_;
  std::vector<ControllerIndex> dirty_;
  std::vector<char> is_dirty_;
  std::vector<Heard> heard_;
  std::map<OutageId, OutageRow> outages_;  ///< Running; the row as stored last.
  std::map<std::string, ControllerIndex, std::less<>> by_id_;
  ShelfBook shelf_book_;
  Witnessing witnessing_{[this](const Event& event) { feed_from_witness(event); }};
  TellingOrder telling_;
  TellingOrder::Numbers stored_numbers_;
  std::string shared_state_;  ///< What partners were told last, without ages.
  Instant started_at_;
  ProofBook proofs_;
  ReadingBook readings_;
  DrillBook drills_;
  StandInBook stand_ins_;
  static constexpr Span ways_looked_at_every = Span::of_min(10);
  std::optional<WallTime> looked_at_ways_;
  std::set<std::pair<std::string, std::string>> told_unproven_;  ///< By keyholder and notifier.
  WallTime drills_since_;  ///< Lists without an exercise so far count from here.
  bool stopped_ = false;
  Instant fed_until_;  // newest time given to the core
};

/// All controllers that a subject covers. `watcher` covers none.
std::vector<ControllerIndex> controllers_of(const WatchPlan& plan, Subject subject);

}  // namespace ebbwatch
