// Performs what the notice desk plans: sends what is due, feeds the answers back, and has every
// change stored. Owns the desk and the notifiers; lives on the loop.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "app/committer.h"
#include "app/delivery_report.h"
#include "app/proof_book.h"
#include "app/status_view.h"
#include "app/tasks.h"
#include "notices/notice_desk.h"
#include "ports/clock.h"
#include "ports/entropy.h"
#include "ports/notifier.h"

namespace ebbwatch {

using Notifiers = std::map<std::string, std::shared_ptr<Notifier>>;

class Dispatcher {
 public:
  struct Parts {
    Tasks& tasks;
    const Clock& clock;
    Entropy& entropy;
    Committer& committer;
    /// Called when next_deadline() may have moved earlier.
    std::function<void()> rearm;
    /// Called when an outage's acknowledgement has run out and its call list begins again.
    std::function<void(OutageId)> run_out;
    Answers* answers = nullptr;  ///< Codes and links for notices; must outlive it. Null: none.
    /// Called when something was delivered to this keyholder by this notifier.
    std::function<void(const std::string& keyholder, const std::string& notifier)> delivered{};
  };

  /// `settings` and `plan` must outlive it, or be replaced by reload().
  Dispatcher(Parts parts, const Settings& settings, const WatchPlan& plan, Notifiers notifiers);

  /// Takes up what an earlier process stored. Call once, before anything else.
  void restore(const StoredState& state);
  /// Attempts under way end with the old notifiers, which live until then.
  void reload(const Settings& settings, const WatchPlan& plan, Notifiers notifiers);

  /// Adds to `batch` the rows of what a decision causes. @return the ticket for release().
  std::uint64_t decided(const Decision& decision, const DeskContext& context, Batch& batch);
  /// As decided(), for a reading.
  std::uint64_t reading(const Decision& decision, const ReadingNews& news, const std::string& json,
                        const DeskContext& context, Batch& batch);
  /// The batches up to this ticket are stored (or the store has failed): send what is due.
  void release(std::uint64_t ticket);
  void acknowledge(OutageId outage, const Acknowledgement& given);
  /// What a carrier said became of a notice. @return false while its attempt is still running:
  /// nothing was done, and the carrier should say it again.
  bool reported(const DeliveryReport& report);
  /// Whether this keyholder was told of the running outage, or may have been.
  bool was_told(OutageId outage, const std::string& keyholder) const {
    return desk_.was_told(outage, keyholder);
  }
  /// As decided(), for an exercise.
  std::uint64_t drill(const MadeUpLoss& made, const std::vector<Call>& calls, Batch& batch);
  void end_drill(OutageId number);
  /// What is told of the outage stops until the core says that its shelf has ended.
  void rest(OutageId outage);
  /// As NoticeDesk's.
  void hand_over(OutageId outage);
  void reached_elsewhere(OutageId outage, const std::vector<std::string>& delivered);
  std::vector<std::string> delivered_of(OutageId outage) const {
    return desk_.delivered_of(outage);
  }
  bool calls_for(OutageId outage) const { return desk_.calls_for(outage); }
  /// The store has begun to fail, or works again.
  void store_changed(const StoreHealth& health);
  /// A way was not proven for longer than these lists ask.
  void unproven(const WayProof& way, const std::vector<std::string>& lists);
  /// Who is called in place of whom.
  void use(const std::vector<StandInRow>& stand_ins) { desk_.use(stand_ins); }
  /// Who has taken a running outage on; empty: nobody.
  std::string taken_by(OutageId outage) const { return desk_.taken_by(outage); }
  void tick();
  std::optional<WallTime> next_deadline() const;

  const std::map<std::string, NotifierHealth>& health();
  const LoopLateness& lateness() const { return lateness_; }
  std::size_t in_flight() const { return in_flight_; }
  /// No further attempts; those under way may end.
  void stop() { stopping_ = true; }
  /// The notifiers end, at the latest with their attempts: some wait on devices all the time.
  void close() { notifiers_.clear(); }

 private:
  std::uint64_t add(Changes changes, Batch& batch);
  void store(Changes changes);
  void report(const Changes& changes);
  void pump();
  void ended(const Send& send, const Outcome& outcome);
  void plan_checks(const Settings& settings);
  void start_checks();
  void checked(const std::string& notifier, const Outcome& outcome);
  void note_health(const std::string& notifier);
  void watch_loop();

  Parts parts_;
  Notifiers notifiers_;
  NoticeDesk desk_;
  std::map<std::string, NotifierHealth> health_;
  struct Check {
    Span every;
    WallTime next;
  };
  std::map<std::string, Check> checks_;
  LoopLateness lateness_;
  bool watching_loop_ = false;
  std::size_t in_flight_ = 0;
  bool stopping_ = false;
};

}  // namespace ebbwatch
