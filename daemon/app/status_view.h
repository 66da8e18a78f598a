// Who is in contact, as `ebbwatch status --json` prints it (FORMATS section 6, plus what a person
// needs to know about the watcher itself). Pure: from the parts' states to JSON.
#pragma once

#include <boost/json/object.hpp>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "app/doors.h"
#include "app/loop_lateness.h"
#include "app/proof_book.h"
#include "app/reading_book.h"
#include "app/witnessing.h"
#include "core/watch.h"
#include "ports/clock.h"
#include "ports/store.h"
#include "settings/settings.h"
#include "witness/telling.h"

namespace ebbwatch {

/// How the last attempts of one notifier went.
struct NotifierHealth {
  bool failing = false;                ///< The newest attempt did not deliver.
  std::optional<WallTime> since;       ///< Of `failing`, or of the last delivery.
  std::string answer;                  ///< What the other side said last.
  std::uint32_t waiting = 0;           ///< Notices not yet delivered.
  std::uint32_t dead_letters = 0;      ///< Given up since the start of this process.
  std::optional<WallTime> checked_at;  ///< The last look whether it would work.
  bool check_failing = false;          ///< That look found a fault, and no delivery since.
  std::string way;                     ///< What it says of itself: signal, registration.
  bool way_failing = false;
};

struct StoreHealth {
  bool failing = false;
  std::string reason;
};

struct StatusInput {
  const Settings& settings;
  const Watch& watch;
  const Clock& clock;
  const std::map<std::string, NotifierHealth>& notifiers;
  const StoreHealth& store;
  const std::string&
      configuration_refused;  ///< Why the last reload was refused; empty: it was not.
  const std::vector<ShelfRow>& shelves;
  const std::vector<std::string>& unmet_wishes;  ///< Of detection; see app/detection_wishes.h.
  const LoopLateness* lateness = nullptr;
  const Witnessing* witnessing = nullptr;
  const TellingOrder* telling = nullptr;
  std::vector<WayProof> ways{};
  const DrillRow* drill = nullptr;  ///< The newest exercise; null: there was none.
  const Doors* doors = nullptr;
  std::vector<StandInRow> stand_ins{};
  /// Databases that were damaged and lie beside the present one (store/repair.h).
  std::vector<std::string> set_aside{};
  const ReadingBook* readings = nullptr;
};

boost::json::object status_json(const StatusInput& input);

}  // namespace ebbwatch
