// The tables of what people put away, by which links they answer, which ways to them are proven,
// and of readings that have limits.
#pragma once

#include <string>
#include <vector>

#include "ports/store.h"
#include "store/database.h"

namespace ebbwatch {

class PeopleTables {
 public:
  static Result<PeopleTables> prepare(Database& database);

  /// @pre inside a transaction, for every write.
  Result<void> put(const ShelfRow& row);
  Result<void> put(const LinkRow& row);
  Result<void> put(const ProofRow& row);
  Result<void> put(const DrillRow& row);
  Result<void> put(const StandInRow& row);
  Result<void> put(const ReadingRow& row);

  /// Fills its parts of `state`.
  Result<void> load(StoredState& state);
  Result<std::vector<DrillRow>> drills(const HistoryQuery& query);

 private:
  explicit PeopleTables(std::vector<Statement> statements) : statements_(std::move(statements)) {}
  Statement& statement(std::size_t which) { return statements_[which]; }
  std::vector<Statement> statements_;  ///< In the order of the list in the .cpp.
};

}  // namespace ebbwatch
