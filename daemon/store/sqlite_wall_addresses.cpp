#include "store/sqlite_wall_addresses.h"

#include <utility>

namespace ebbwatch {
namespace {

class SqliteWallAddresses final : public WallAddressStore {
 public:
  SqliteWallAddresses(Database database, std::vector<Statement> statements)
      : database_(std::move(database)),
        all_(std::move(statements[0])),
        find_(std::move(statements[1])),
        put_(std::move(statements[2])),
        remove_(std::move(statements[3])) {}

  Result<std::vector<WallAddressRow>> addresses() override {
    std::vector<WallAddressRow> rows;
    all_.with();
    for (;;) {
      const auto more = all_.next();
      if (!more) return more.error();
      if (!more.value()) return rows;
      auto& row = rows.emplace_back();
      all_.into(row.name, row.key_hash, row.made_at);
    }
  }

  Result<bool> put(const WallAddressRow& row) override {
    return change(row.name, put_.with(row.name, row.key_hash, row.made_at));
  }

  Result<bool> remove(const std::string& name) override { return change(name, remove_.with(name)); }

 private:
  /// @return whether there was one of this name before.
  Result<bool> change(const std::string& name, Statement& bound) {
    auto transaction = Transaction::begin(database_);
    if (!transaction) return transaction.error();
    const auto found = find_.with(name).next();
    if (!found) return found.error();
    bool before = false;
    find_.into(before);
    find_.reset();
    auto done = bound.run();
    if (done.ok()) done = transaction.value().commit();
    if (!done) return done.error();
    return before;
  }

  Database database_;
  Statement all_, find_, put_, remove_;
};

}  // namespace

Result<std::unique_ptr<WallAddressStore>> open_wall_addresses(const std::string& state_dir,
                                                              const DatabaseOptions& options) {
  auto database = open_database(state_dir, options);
  if (!database) return database.error();
  std::vector<Statement> statements;
  for (const char* sql :
       {"SELECT name, key_hash, made_at FROM wall_addresses ORDER BY name",
        "SELECT count(*) FROM wall_addresses WHERE name = ?1",
        "INSERT OR REPLACE INTO wall_addresses(name, key_hash, made_at) VALUES(?1, ?2, ?3)",
        "DELETE FROM wall_addresses WHERE name = ?1"}) {
    auto statement = database.value().prepare(sql);
    if (!statement) return statement.error();
    statements.push_back(std::move(statement.value()));
  }
  return std::unique_ptr<WallAddressStore>(
      std::make_unique<SqliteWallAddresses>(std::move(database.value()), std::move(statements)));
}

}  // namespace ebbwatch
