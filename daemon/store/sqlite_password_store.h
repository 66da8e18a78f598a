// The board's passwords in the same SQLite file, on a connection of their own, so that `ebbwatch
// board-password` works in a second process whether or not the daemon runs. Synced at once.
#pragma once

#include <memory>
#include <string>

#include "ports/store.h"
#include "store/database.h"
#include "store/open_database.h"

namespace ebbwatch {

/// Errors: newer_version, refused, storage, busy (see open_database).
Result<std::unique_ptr<PasswordStore>> open_password_store(const std::string& state_dir,
                                                           const DatabaseOptions& options = {});

class SqlitePasswordStore final : public PasswordStore {
 public:
  static Result<std::unique_ptr<SqlitePasswordStore>> prepare(Database database);
  Result<std::vector<PasswordRow>> passwords() override;
  Result<void> set_password(const PasswordRow& row) override;

 private:
  SqlitePasswordStore(Database database, Statement all, Statement put);
  Database database_;
  Statement all_, put_;
};

}  // namespace ebbwatch
