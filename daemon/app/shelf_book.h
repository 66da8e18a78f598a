// What is put away, with the reason, the name and the wall times that the core does not know; and
// what a person's wish to put something away must look like. Pure.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "core/result.h"
#include "core/watch.h"
#include "ports/store.h"

namespace ebbwatch {

/// "lagoon", or "tank/lagoon" where a site, tank or controller share a name. Errors: not_found (no
/// such subject), bad_input (several have the name).
Result<Subject> find_subject(const WatchPlan& plan, const std::string& text);

struct ShelfWish {
  std::string subject;  ///< As find_subject() reads it.
  Shelf::Kind kind = Shelf::Kind::shelved;
  std::optional<WallTime> until;  ///< Needed for shelved, not allowed for out of service.
  std::string reason, by;
};

class ShelfBook {
 public:
  /// Rows of subjects that the plan no longer has are left out.
  void restore(const std::vector<ShelfRow>& rows, const WatchPlan& plan);
  /// Errors: as find_subject(); bad_input when reason, name or end is missing, or the end is not
  /// after `now` or later than limits::shelf_time_max.
  Result<ShelfRow> check(const ShelfWish& wish, const WatchPlan& plan, WallTime now) const;
  void put(const ShelfRow& row);
  /// The row, taken out; empty when nothing like it is put away.
  std::optional<ShelfRow> take(const std::string& scope, const std::string& subject,
                               const std::string& kind);
  /// Those that `shelves` does not have any more, taken out.
  std::vector<ShelfRow> take_ended(const std::vector<Shelf>& shelves, const WatchPlan& plan);

  const std::vector<ShelfRow>& rows() const { return rows_; }

 private:
  std::vector<ShelfRow> rows_;
};

/// The line of history for an act of a person or the end of a shelf. @param act "shelved",
/// "unshelved", "shelf_ended", "out_of_service", "in_service".
DecisionRow act_row(const ShelfRow& row, const char* act, const std::string& by, WallTime at);

}  // namespace ebbwatch
