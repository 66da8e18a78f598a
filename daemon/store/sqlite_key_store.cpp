#include "store/sqlite_key_store.h"

#include <utility>

namespace ebbwatch {

Result<std::unique_ptr<KeyStore>> open_key_store(const std::string& state_dir,
                                                 const DatabaseOptions& options) {
  auto database = open_database(state_dir, options);
  if (!database) return database.error();
  auto store = SqliteKeyStore::prepare(std::move(database.value()));
  if (!store) return store.error();
  return std::unique_ptr<KeyStore>(std::move(store.value()));
}

Result<std::unique_ptr<SqliteKeyStore>> SqliteKeyStore::prepare(Database database) {
  auto all = database.prepare(
      "SELECT controller, key_hash, made_at, mac_state FROM keys ORDER BY controller");
  if (!all) return all.error();
  auto find = database.prepare("SELECT count(*) FROM keys WHERE controller = ?1");
  if (!find) return find.error();
  auto put = database.prepare(
      "INSERT OR REPLACE INTO keys(controller, key_hash, made_at, mac_state) "
      "VALUES(?1, ?2, ?3, ?4)");
  if (!put) return put.error();
  return std::unique_ptr<SqliteKeyStore>(
      new SqliteKeyStore(std::move(database), std::move(all.value()), std::move(find.value()),
                         std::move(put.value())));
}

SqliteKeyStore::SqliteKeyStore(Database database, Statement all, Statement find, Statement put)
    : database_(std::move(database)),
      all_(std::move(all)),
      find_(std::move(find)),
      put_(std::move(put)) {}

Result<std::vector<KeyRow>> SqliteKeyStore::keys() {
  std::vector<KeyRow> rows;
  all_.with();
  for (;;) {
    const auto more = all_.next();
    if (!more) return more.error();
    if (!more.value()) return rows;
    auto& row = rows.emplace_back();
    all_.into(row.controller, row.key_hash, row.made_at, row.mac_state);
  }
}

Result<bool> SqliteKeyStore::set_key(const KeyRow& row) {
  auto transaction = Transaction::begin(database_);
  if (!transaction) return transaction.error();
  const auto found = find_.with(row.controller).next();
  if (!found) return found.error();
  bool before = false;
  find_.into(before);
  find_.reset();
  auto done = put_.with(row.controller, row.key_hash, row.made_at, row.mac_state).run();
  if (done.ok()) done = transaction.value().commit();
  if (!done) return done.error();
  return before;
}

}  // namespace ebbwatch
