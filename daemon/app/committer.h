// Gathers what must be stored and stores it: check-ins in groups, decisions and notices at once.
// When the disk fails it keeps everything in memory, goes on trying, and says so.
// One commit is under way at a time: what comes meanwhile goes into the next one, so that a row put
// back after a failure never overtakes a newer one.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/steady_timer.hpp>
#include <functional>
#include <string>
#include <vector>

#include "app/status_view.h"
#include "app/store_thread.h"
#include "ports/store.h"

namespace ebbwatch {

class Committer {
 public:
  static constexpr std::chrono::seconds group_for{3};  ///< Check-ins that a crash may lose.
  static constexpr std::chrono::seconds retry_after{10};
  /// While the store fails, older check-ins beyond this are let go; decisions and notices never.
  static constexpr std::size_t unsaved_check_ins_max = 100'000;

  /// @param changed told when the store begins to fail or works again.
  Committer(boost::asio::any_io_executor loop, StoreThread& store,
            std::function<void(const StoreHealth&)> changed);

  /// Called just before each commit to add what has changed by then.
  void set_fill(std::function<void(Batch&)> fill) { fill_ = std::move(fill); }
  /// Stored with the next group, at the latest after `group_for`.
  void later(Batch part);
  /// Stored now together with all that waits; `done(stored)` follows on the loop. Not stored means
  /// kept in memory and tried again: the caller acts all the same, since silence is the worst
  /// answer.
  void now(Batch part, std::function<void(bool stored)> done);
  /// No further groups by time; what waits goes with the next now().
  void stop();
  const StoreHealth& health() const { return health_; }
  /// Whether nothing is being stored and nothing waits for it.
  bool idle() const { return !under_way_ && waiters_.empty(); }

 private:
  using Waiters = std::vector<std::function<void(bool)>>;
  void arm(std::chrono::seconds wait);
  void send();
  void committed(Batch batch, const Result<void>& result);

  StoreThread& store_;
  boost::asio::steady_timer timer_;
  std::function<void(const StoreHealth&)> changed_;
  std::function<void(Batch&)> fill_;
  Batch waiting_;
  Waiters waiters_;  ///< Of `waiting_`.
  bool armed_ = false;
  bool under_way_ = false;
  bool stopped_ = false;
  StoreHealth health_;
};

/// Puts `part` after `whole`; rows that replace each other keep their order.
void append(Batch& whole, Batch part);

}  // namespace ebbwatch
