#include "reporting/service_state.h"

#include <systemd/sd-daemon.h>

namespace ebbwatch {
namespace {

std::string one_line(std::string text) {
  for (char& c : text) {
    if (c == '\n' || c == '\r') c = ' ';
  }
  return text;
}

}  // namespace

ServiceState::ServiceState() {
  std::uint64_t period = 0;
  if (sd_watchdog_enabled(0, &period) > 0) {
    watchdog_period_ = std::chrono::microseconds(static_cast<std::int64_t>(period));
  }
}

// A manager that does not listen is not our fault and nothing can be done about it, so results of
// sd_notify are not looked at.
void ServiceState::ready(const std::string& status) {
  (void)sd_notify(0, ("READY=1\nSTATUS=" + one_line(status)).c_str());
}

void ServiceState::status(const std::string& text) {
  (void)sd_notify(0, ("STATUS=" + one_line(text)).c_str());
}

void ServiceState::reloading() {
  (void)sd_notify(0, "RELOADING=1");
}

void ServiceState::stopping() {
  (void)sd_notify(0, "STOPPING=1");
}

void ServiceState::alive() {
  if (watchdog_period_.count() > 0) (void)sd_notify(0, "WATCHDOG=1");
}

}  // namespace ebbwatch
