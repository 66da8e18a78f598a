// Tells the service manager how we are, by sd_notify(3); does nothing when there is none. The only
// user of libsystemd.
#pragma once

#include <chrono>
#include <string>

namespace ebbwatch {

class ServiceState {
 public:
  /// Reads whether the manager wants signs of life (sd_watchdog_enabled(3)).
  ServiceState();

  void ready(const std::string& status);  ///< READY=1, also after a reload.
  void status(const std::string& text);   ///< STATUS= alone, one line for `systemctl status`.
  void reloading();                       ///< RELOADING=1
  void stopping();                        ///< STOPPING=1
  /// WATCHDOG=1 when the manager asked for it. Call from the loop that does the work, only when it
  /// made progress, at least every half of watchdog_period().
  void alive();
  /// 0: none is wanted.
  std::chrono::microseconds watchdog_period() const { return watchdog_period_; }

 private:
  std::chrono::microseconds watchdog_period_{0};
};

}  // namespace ebbwatch
