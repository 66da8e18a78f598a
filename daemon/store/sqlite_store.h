// The Store in one SQLite file, state_dir/ebbwatch.sqlite3, in write-ahead mode.
//
// One transaction per batch. Batches that somebody may be told about, and starts and stops, are
// synced to the disk before commit() returns; a batch of only check-ins, uplink rows and
// controllers is not, so a power cut may take the newest of them. Readers (`ebbwatch history`,
// `enrol`) may use the file at the same time. Not safe for several threads at once; may move
// between threads.
#pragma once

#include <memory>
#include <optional>
#include <string>

#include "ports/store.h"
#include "store/condense.h"
#include "store/database.h"
#include "store/history_tables.h"
#include "store/open_database.h"
#include "store/people_tables.h"
#include "store/state_lock.h"
#include "store/state_tables.h"

namespace ebbwatch {

struct StoreOptions {
  /// True for the daemon: refuses with `busy` when another ebbwatchd uses the folder. False for
  /// commands that read beside it.
  bool sole_watcher = true;
  DatabaseOptions database;
};

/// Errors: newer_version, refused, storage, busy (see open_database and StateLock).
Result<std::unique_ptr<Store>> open_store(const std::string& state_dir,
                                          const StoreOptions& options = {});

class SqliteStore final : public Store {
 public:
  /// @param lock kept as long as the store. @pre the database has the newest tables.
  static Result<std::unique_ptr<SqliteStore>> prepare(Database database,
                                                      std::optional<StateLock> lock);

  Result<void> commit(const Batch& batch) override;
  Result<StoredState> load() override;
  Result<std::vector<DecisionRow>> decisions(const HistoryQuery& query) override;
  Result<std::vector<CheckInRow>> check_ins(const HistoryQuery& query) override;
  Result<std::vector<WatcherRow>> watcher_rows(const HistoryQuery& query) override;
  Result<void> for_each_heard(const HistoryQuery& query,
                              const std::function<bool(const HeardRow&)>& visit) override;
  Result<void> for_each_kept(const HistoryQuery& query,
                             const std::function<bool(const HourRow&)>& on_hour,
                             const std::function<bool(const HeardRow&)>& on_heard) override;
  Result<bool> heard_before(const std::string& controller, WallTime time) override;
  Result<bool> condense(const KeepLimits& limits, std::size_t rows_at_most) override;
  Result<std::vector<NoticeRow>> notices_of(std::uint64_t outage) override;
  Result<std::vector<AttemptRow>> attempts_of(const std::string& notice) override;
  Result<std::vector<DrillRow>> drills(const HistoryQuery& query) override;
  Result<std::optional<CallRow>> call_of(std::uint64_t outage) override;

 private:
  SqliteStore(Database database, std::optional<StateLock> lock, HistoryTables history,
              StateTables state, PeopleTables people, Condenser condenser);
  Result<void> choose_sync(bool full);
  Result<void> write(const Batch& batch);

  std::optional<StateLock> lock_;
  Database database_;
  HistoryTables history_;
  StateTables state_;
  PeopleTables people_;
  Condenser condenser_;
  bool full_sync_ = true;
};

}  // namespace ebbwatch
