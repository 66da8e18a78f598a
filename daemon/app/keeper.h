// Makes room in the store as the settings wish it: small steps on the store's thread with rests
// between them, so that no check-in waits longer than one step.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/steady_timer.hpp>
#include <functional>
#include <string>

#include "app/store_thread.h"
#include "ports/clock.h"
#include "settings/settings.h"

namespace ebbwatch {

class Keeper {
 public:
  /// `settings` is asked before each step. All must outlive it, and the store's thread must end
  /// first.
  Keeper(boost::asio::any_io_executor loop, StoreThread& store, const Clock& clock,
         std::function<const KeepSettings&()> settings);
  void start();
  void stop();

 private:
  struct Step {
    Result<bool> more;
    std::chrono::steady_clock::duration took{};
  };
  void wait(std::chrono::steady_clock::duration rest);
  void step();
  void ended(const Step& step);

  StoreThread& store_;
  const Clock& clock_;
  std::function<const KeepSettings&()> settings_;
  boost::asio::steady_timer timer_;
  std::string failure_;  ///< Of the last step; empty: it worked.
  bool stopped_ = true;
};

/// What these settings mean now.
KeepLimits keep_limits(const KeepSettings& settings, WallTime now);

}  // namespace ebbwatch
