// A calendar as RFC 5545 writes it. Pure.
#pragma once

#include <string>
#include <vector>

#include "core/time.h"

namespace ebbwatch {

struct CalendarEvent {
  std::string uid;  ///< Stays the same for the same event.
  WallTime from, until;
  std::string summary, description;
};

/// Lines of at most 75 octets, with CR LF, texts escaped (RFC 5545 sections 3.1 and 3.3.11).
std::string calendar_feed(const std::string& name, const std::vector<CalendarEvent>& events,
                          WallTime now);

}  // namespace ebbwatch
