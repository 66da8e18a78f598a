#include "store/sqlite_password_store.h"

#include <utility>

namespace ebbwatch {

Result<std::unique_ptr<PasswordStore>> open_password_store(const std::string& state_dir,
                                                           const DatabaseOptions& options) {
  auto database = open_database(state_dir, options);
  if (!database) return database.error();
  auto store = SqlitePasswordStore::prepare(std::move(database.value()));
  if (!store) return store.error();
  return std::unique_ptr<PasswordStore>(std::move(store.value()));
}

Result<std::unique_ptr<SqlitePasswordStore>> SqlitePasswordStore::prepare(Database database) {
  auto all = database.prepare("SELECT role, hash, made_at FROM board_passwords ORDER BY role");
  if (!all) return all.error();
  auto put = database.prepare(
      "INSERT OR REPLACE INTO board_passwords(role, hash, made_at) VALUES(?1, ?2, ?3)");
  if (!put) return put.error();
  return std::unique_ptr<SqlitePasswordStore>(
      new SqlitePasswordStore(std::move(database), std::move(all.value()), std::move(put.value())));
}

SqlitePasswordStore::SqlitePasswordStore(Database database, Statement all, Statement put)
    : database_(std::move(database)), all_(std::move(all)), put_(std::move(put)) {}

Result<std::vector<PasswordRow>> SqlitePasswordStore::passwords() {
  std::vector<PasswordRow> rows;
  all_.with();
  for (;;) {
    const auto more = all_.next();
    if (!more) return more.error();
    if (!more.value()) return rows;
    auto& row = rows.emplace_back();
    all_.into(row.role, row.hash, row.made_at);
  }
}

Result<void> SqlitePasswordStore::set_password(const PasswordRow& row) {
  return put_.with(row.role, row.hash, row.made_at).run();
}

}  // namespace ebbwatch
