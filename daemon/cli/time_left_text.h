// What `ebbwatch time-left` prints: for people within 80 columns, and as JSON. Pure.
#pragma once

#include <cstdint>
#include <string>

#include "core/time.h"
#include "timeleft/estimate.h"

namespace ebbwatch {

/// What is known of the tank's power when the clocks are asked for.
enum class PowerKnown : std::uint8_t {
  out,     ///< A controller there runs on battery, since TimeLeft::from.
  silent,  ///< Nothing is heard since TimeLeft::from; the power may be out.
  on,      ///< Contact: the clocks tell what would happen from now on.
};

struct TimeLeftReport {
  std::string tank, name, site_name;
  PowerKnown power = PowerKnown::on;
  WallTime now;
  TimeLeft left;
};

std::string time_left_text(const TimeLeftReport& report);
std::string time_left_json(const TimeLeftReport& report);

}  // namespace ebbwatch
