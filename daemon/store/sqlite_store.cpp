#include "store/sqlite_store.h"

#include <algorithm>
#include <utility>

namespace ebbwatch {
namespace {

bool must_be_synced(const Batch& batch) {
  const bool starts_or_stops =
      std::any_of(batch.watcher_rows.begin(), batch.watcher_rows.end(),
                  [](const WatcherRow& row) { return row.kind != "uplink"; });
  return starts_or_stops || batch.next_outage || !batch.outages.empty() ||
         !batch.decisions.empty() || !batch.notices.empty() || !batch.attempts.empty() ||
         !batch.calls.empty() || !batch.shelves.empty() || !batch.links.empty() ||
         !batch.proofs.empty() || !batch.drills.empty() || !batch.stand_ins.empty() ||
         !batch.readings.empty();
}

template <class Row, class Write>
Result<void> each(const std::vector<Row>& rows, const Write& write) {
  for (const auto& row : rows) {
    auto written = write(row);
    if (!written) return written;
  }
  return {};
}

}  // namespace

Result<std::unique_ptr<Store>> open_store(const std::string& state_dir,
                                          const StoreOptions& options) {
  std::optional<StateLock> lock;
  if (options.sole_watcher) {
    const auto folder = make_state_folder(state_dir);
    if (!folder) return folder.error();
    auto taken = StateLock::take(state_dir);
    if (!taken) return taken.error();
    lock.emplace(std::move(taken.value()));
  }
  auto database = open_database(state_dir, options.database);
  if (!database) return database.error();
  auto store = SqliteStore::prepare(std::move(database.value()), std::move(lock));
  if (!store) return store.error();
  return std::unique_ptr<Store>(std::move(store.value()));
}

Result<std::unique_ptr<SqliteStore>> SqliteStore::prepare(Database database,
                                                          std::optional<StateLock> lock) {
  auto history = HistoryTables::prepare(database);
  if (!history) return history.error();
  auto state = StateTables::prepare(database);
  if (!state) return state.error();
  auto people = PeopleTables::prepare(database);
  if (!people) return people.error();
  auto condenser = Condenser::prepare(database);
  if (!condenser) return condenser.error();
  return std::unique_ptr<SqliteStore>(new SqliteStore(
      std::move(database), std::move(lock), std::move(history.value()), std::move(state.value()),
      std::move(people.value()), std::move(condenser.value())));
}

SqliteStore::SqliteStore(Database database, std::optional<StateLock> lock, HistoryTables history,
                         StateTables state, PeopleTables people, Condenser condenser)
    : lock_(std::move(lock)),
      database_(std::move(database)),
      history_(std::move(history)),
      state_(std::move(state)),
      people_(std::move(people)),
      condenser_(std::move(condenser)) {}

Result<void> SqliteStore::commit(const Batch& batch) {
  if (batch.empty()) return {};
  const auto chosen = choose_sync(must_be_synced(batch));
  if (!chosen) return chosen;
  auto transaction = Transaction::begin(database_);
  if (!transaction) return transaction.error();
  auto done = write(batch);
  if (done.ok()) done = transaction.value().commit();
  if (!done) history_.forget();
  return done;
}

Result<void> SqliteStore::choose_sync(bool full) {
  if (full == full_sync_) return {};
  auto set = database_.run(full ? "PRAGMA synchronous = FULL" : "PRAGMA synchronous = NORMAL");
  if (set.ok()) full_sync_ = full;
  return set;
}

Result<void> SqliteStore::write(const Batch& batch) {
  const auto to_history = [this](const auto& row) { return history_.add(row); };
  const auto put = [this](const auto& row) { return state_.put(row); };
  const auto add = [this](const auto& row) { return state_.add(row); };
  auto done = each(batch.check_ins, to_history);
  if (done.ok()) done = each(batch.watcher_rows, to_history);
  if (done.ok()) done = each(batch.controllers, put);
  if (done.ok()) done = each(batch.outages, put);
  if (done.ok()) done = each(batch.decisions, add);
  if (done.ok()) done = each(batch.notices, put);
  if (done.ok()) done = each(batch.attempts, add);
  if (done.ok()) done = each(batch.calls, put);
  const auto of_people = [this](const auto& row) { return people_.put(row); };
  if (done.ok()) done = each(batch.shelves, of_people);
  if (done.ok()) done = each(batch.links, of_people);
  if (done.ok()) done = each(batch.proofs, of_people);
  if (done.ok()) done = each(batch.drills, of_people);
  if (done.ok()) done = each(batch.stand_ins, of_people);
  if (done.ok()) done = each(batch.readings, of_people);
  if (done.ok()) done = each(batch.facts, put);
  if (done.ok() && batch.next_outage) done = state_.put_next_outage(*batch.next_outage);
  const auto process_row = std::find_if(batch.watcher_rows.rbegin(), batch.watcher_rows.rend(),
                                        [](const WatcherRow& row) { return row.kind != "uplink"; });
  if (done.ok() && process_row != batch.watcher_rows.rend())
    done = state_.put_stopped_in_good_order(process_row->kind == "stop");
  return done;
}

Result<StoredState> SqliteStore::load() {
  auto state = state_.load();
  if (!state) return state;
  if (const auto read = people_.load(state.value()); !read) return read.error();
  const auto newest = history_.newest();
  if (!newest) return newest.error();
  auto& last = state.value().last_written;
  if (newest.value() && (!last || *last < *newest.value())) last = newest.value();
  return state;
}

Result<std::vector<DecisionRow>> SqliteStore::decisions(const HistoryQuery& query) {
  return state_.decisions(query);
}

Result<std::vector<CheckInRow>> SqliteStore::check_ins(const HistoryQuery& query) {
  std::vector<CheckInRow> rows;
  const auto read = history_.for_each_check_in(query, [&rows](const CheckInRow& row) {
    rows.push_back(row);
    return true;
  });
  if (!read) return read.error();
  return rows;
}

Result<std::vector<WatcherRow>> SqliteStore::watcher_rows(const HistoryQuery& query) {
  std::vector<WatcherRow> rows;
  const auto read = history_.for_each_watcher_row(query, [&rows](const WatcherRow& row) {
    rows.push_back(row);
    return true;
  });
  if (!read) return read.error();
  return rows;
}

Result<void> SqliteStore::for_each_heard(const HistoryQuery& query,
                                         const std::function<bool(const HeardRow&)>& visit) {
  return history_.for_each_heard(query, visit);
}

Result<void> SqliteStore::for_each_kept(const HistoryQuery& query,
                                        const std::function<bool(const HourRow&)>& on_hour,
                                        const std::function<bool(const HeardRow&)>& on_heard) {
  // One moment: what is condensed meanwhile must not come twice, or not at all.
  const auto moment = Transaction::begin_reading(database_);
  if (!moment) return moment.error();
  const auto read = condenser_.for_each_hour(query, on_hour);
  return read ? history_.for_each_heard(query, on_heard) : read;
}

Result<bool> SqliteStore::heard_before(const std::string& controller, WallTime time) {
  return condenser_.heard_before(controller, time);
}

Result<bool> SqliteStore::condense(const KeepLimits& limits, std::size_t rows_at_most) {
  // A power cut may take the newest steps back, whole.
  const auto chosen = choose_sync(false);
  if (!chosen) return chosen.error();
  auto transaction = Transaction::begin(database_);
  if (!transaction) return transaction.error();
  auto more = condenser_.step(limits, rows_at_most);
  const auto stored = more ? transaction.value().commit() : Result<void>(more.error());
  if (stored) return more;
  condenser_.forget();
  return stored.error();
}

Result<std::vector<NoticeRow>> SqliteStore::notices_of(std::uint64_t outage) {
  return state_.notices_of(outage);
}

Result<std::vector<AttemptRow>> SqliteStore::attempts_of(const std::string& notice) {
  return state_.attempts_of(notice);
}

Result<std::vector<DrillRow>> SqliteStore::drills(const HistoryQuery& query) {
  return people_.drills(query);
}

Result<std::optional<CallRow>> SqliteStore::call_of(std::uint64_t outage) {
  return state_.call_of(outage);
}

}  // namespace ebbwatch
