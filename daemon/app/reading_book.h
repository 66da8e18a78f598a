// Which readings are judged, how each stands, and which of them people were told of.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "core/ids.h"
#include "core/reading_judge.h"
#include "core/site_plan.h"
#include "ingest/check_in.h"
#include "ports/clock.h"
#include "ports/store.h"
#include "settings/settings.h"

namespace ebbwatch {

class ReadingBook {
 public:
  struct Entry {
    std::string name;        ///< As in ReadingSettings.
    std::string controller;  ///< Identifier.
    ControllerIndex index;
    TankIndex tank;
    ReadingLimits limits;
    ReadingJudge judge;
    OutageId outage = 0;                     ///< Of its alarm that runs; 0: none does.
    bool told = false;                       ///< That alarm was told to people, not only recorded.
    bool taken = false;                      ///< Somebody has taken it on.
    Instant stored_hour = Instant::never();  ///< ReadingMemory::hour_began as it was stored last.
  };
  struct Step {
    Entry& entry;
    ReadingChange change;
  };

  /// Other limits from now on; what was learnt goes on where controller and name are the same.
  /// @return the alarms whose readings are not judged any more.
  std::vector<Entry> use(const Settings& settings, const WatchPlan& plan);
  /// What an earlier process stored. Call once, after use().
  void restore(const std::vector<ReadingRow>& rows, const Clock& clock);

  /// A check-in that is contact now. Cost: O(limits of that controller).
  std::vector<Step> check_in(ControllerIndex controller, const ParsedCheckIn& parsed, Instant at);
  /// Entries of the controller whose hour has ended since they were stored last: to be stored now.
  std::vector<ReadingRow> take_learnt(ControllerIndex controller, const Clock& clock);

  /// Null: no alarm of a reading has this number.
  Entry* alarm(OutageId outage);
  const Entry* alarm(OutageId outage) const;
  /// Running ones, by tank and name.
  std::vector<const Entry*> alarms() const;
  std::vector<Entry>& entries() { return entries_; }
  const std::vector<Entry>& entries() const { return entries_; }

 private:
  std::vector<Entry> entries_;  ///< In the order of the plan's controllers.
  std::vector<std::pair<std::size_t, std::size_t>> of_;  ///< From, to in entries_, by controller.
};

ReadingRow to_row(const ReadingBook::Entry& entry, const Clock& clock);
/// "normal", or the life of the alarm of ISA-18.2: "unacknowledged", "acknowledged". What is
/// recorded only, since its tank is put away, is "shelved".
const char* alarm_word(const ReadingBook::Entry& entry);
/// "water 29.1 °C, above its limit of 28 °C, since 14:02". @pre an alarm of it runs.
std::string reading_words(const ReadingBook::Entry& entry, const Clock& clock);
/// The value of the named reading in a check-in; empty when it is not there or is no number.
std::optional<double> value_in(const ParsedCheckIn& parsed, const std::string& name);

}  // namespace ebbwatch
