// What a report tells of, as plain data: everything that happened in one stretch of time, already
// with names. collect.* fills it from the store; the rest of the folder only computes and writes.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/time.h"

namespace ebbwatch::report {

/// from <= t < until
struct Stretch {
  WallTime from, until;
  bool operator==(const Stretch&) const = default;
};

struct Notice {
  std::string kind;    ///< "loss", "recovery", …
  std::string person;  ///< Name.
  std::string notifier;
  std::string state;  ///< waiting, delivered, dead_letter, withdrawn
  WallTime created_at;
  std::optional<WallTime> ended_at;
};

struct Outage {
  std::string id;           ///< "harbour-17"
  std::string scope, name;  ///< Of the newest decision.
  std::string subject;      ///< Identifier.
  std::string cause;        ///< Words of FORMATS section 5.
  double confidence = 0;
  WallTime since, decided_at;
  std::optional<WallTime> returned;  ///< Empty: still running at the end of the report.
  std::vector<std::string> tanks;    ///< Identifiers of the tanks that were lost in it.
  std::vector<Notice> notices;
  std::optional<WallTime> acknowledged_at;
  std::string acknowledged_by;
  bool marked_false = false;  ///< A person said that nothing was wrong.
};

struct Tank {
  std::string id, name, site;
  std::optional<WallTime> watched_from;  ///< Empty: none of its controllers was ever heard.
};

struct Drill {
  WallTime at;
  std::string site, by;
  std::size_t told = 0, answered = 0;
  std::vector<std::string> silent;  ///< Names of those who did not answer.
};

struct Record {
  std::string watcher;
  std::string title;  ///< "October 2026"
  WallTime from, until;
  std::vector<Stretch> gaps;  ///< In which this watcher did not run or was cut off.
  std::vector<Outage> outages;
  std::vector<Tank> tanks;
  std::vector<Drill> drills;
  std::vector<std::string> unsteady;  ///< Names of subjects that went up and down, one a spell.
};

}  // namespace ebbwatch::report
