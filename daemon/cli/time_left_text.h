// What `ebbwatch time-left` prints: for people within 80 columns, and as JSON. Pure.
#pragma once

#include <string>

#include "core/time.h"
#include "timeleft/estimate.h"

namespace ebbwatch {

struct TimeLeftReport {
  std::string tank, name, site_name;
  PowerKnown power = PowerKnown::on;
  WallTime now;
  TimeLeft left;
};

std::string time_left_text(const TimeLeftReport& report);
std::string time_left_json(const TimeLeftReport& report);

}  // namespace ebbwatch
