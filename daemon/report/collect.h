// From the store to what a report tells of. Reads; changes nothing. Called where blocking is
// allowed: on the command line or on the store's thread.
#pragma once

#include <string>

#include "ports/store.h"
#include "report/record.h"
#include "settings/settings.h"

namespace ebbwatch::report {

struct Wanted {
  std::string title;
  WallTime from, until;  ///< `until` not beyond now.
  std::string site;      ///< Only this one; empty: all.
  /// Whether to look when each tank was first heard, which may read all of the history; else it
  /// counts as watched all the time.
  bool first_heard = true;
};

/// Outages that lie in the stretch wholly or in part, with their notices. Those that began more
/// than 100 days before it are not found. @pre wanted.from < wanted.until Errors: those of the
/// store.
Result<Record> collect(Store& store, const Settings& settings, const Wanted& wanted);

}  // namespace ebbwatch::report
