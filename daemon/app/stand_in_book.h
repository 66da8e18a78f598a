// Who is called in place of whom, and what a wish for it must look like. Pure.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/result.h"
#include "ports/store.h"
#include "settings/settings.h"

namespace ebbwatch {

struct StandInWish {
  std::string absent, stand_in;  ///< Keyholders, by identifier.
  std::optional<WallTime> from;  ///< Empty: now.
  std::optional<WallTime> until;
  std::string by;  ///< Empty: the absent one.
};

class StandInBook {
 public:
  void restore(const std::vector<StandInRow>& rows) { rows_ = rows; }
  /// Errors: not_found (no such keyholder), bad_input (the same person twice, no end, an end before
  /// the beginning, in the past or later than a year from now).
  Result<StandInRow> check(const StandInWish& wish, const Settings& settings, WallTime now) const;
  /// Replaces what was said of the same absent person.
  void put(const StandInRow& row);
  /// The row, taken out; empty when nobody stands in for them.
  std::optional<StandInRow> take(const std::string& absent);
  /// Those whose time is over, taken out.
  std::vector<StandInRow> take_ended(WallTime now);
  /// When the next one ends.
  std::optional<WallTime> next_end() const;

  const std::vector<StandInRow>& rows() const { return rows_; }

 private:
  std::vector<StandInRow> rows_;
};

/// The line of history: `act` "stand_in" or "stand_in_ended".
DecisionRow stand_in_act(const StandInRow& row, const char* act, WallTime at);

}  // namespace ebbwatch
