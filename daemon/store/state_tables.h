// Controllers, outages, decisions, the outbox with its attempts, and call lists: few rows, plain
// columns in the words of ports/store.h, one table per row type.
#pragma once

#include <string>
#include <vector>

#include "ports/store.h"
#include "store/database.h"

namespace ebbwatch {

class StateTables {
 public:
  static Result<StateTables> prepare(Database& database);

  /// @pre inside a transaction, for every write.
  Result<void> put(const ControllerRow& row);
  Result<void> put(const OutageRow& row);
  Result<void> add(const DecisionRow& row);
  Result<void> put(const NoticeRow& row);
  Result<void> add(const AttemptRow& row);
  Result<void> put(const CallRow& row);
  Result<void> put(const FactRow& row);
  Result<void> put_next_outage(std::uint64_t next_outage);
  Result<void> put_stopped_in_good_order(bool stopped);

  /// Everything of StoredState but the times in history.
  Result<StoredState> load();
  Result<std::vector<DecisionRow>> decisions(const HistoryQuery& query);
  Result<std::vector<NoticeRow>> notices_of(std::uint64_t outage);
  Result<std::vector<AttemptRow>> attempts_of(const std::string& notice);
  Result<std::optional<CallRow>> call_of(std::uint64_t outage);

 private:
  explicit StateTables(std::vector<Statement> statements) : statements_(std::move(statements)) {}
  Statement& statement(std::size_t which) { return statements_[which]; }
  std::vector<Statement> statements_;  ///< In the order of the list in the .cpp.
};

}  // namespace ebbwatch
