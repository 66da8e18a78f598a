// Controllers' keys in the same SQLite file, on a connection of their own, so that `ebbwatch enrol`
// works in a second process whether or not the daemon runs. Every change is synced at once.
#pragma once

#include <memory>
#include <string>

#include "ports/store.h"
#include "store/database.h"
#include "store/open_database.h"

namespace ebbwatch {

/// Errors: newer_version, refused, storage, busy (see open_database).
Result<std::unique_ptr<KeyStore>> open_key_store(const std::string& state_dir,
                                                 const DatabaseOptions& options = {});

class SqliteKeyStore final : public KeyStore {
 public:
  static Result<std::unique_ptr<SqliteKeyStore>> prepare(Database database);
  /// In the order of the controllers' identifiers.
  Result<std::vector<KeyRow>> keys() override;
  Result<bool> set_key(const KeyRow& row) override;

 private:
  SqliteKeyStore(Database database, Statement all, Statement find, Statement put);
  Database database_;
  Statement all_, find_, put_;
};

}  // namespace ebbwatch
