#include "store/database.h"

#include <sqlite3.h>

#include <utility>

#include "core/invariant.h"

namespace ebbwatch {

Statement::Statement(sqlite3_stmt* handle, const std::string* path)
    : handle_(handle), path_(path) {}

void Statement::Finalize::operator()(sqlite3_stmt* handle) const {
  sqlite3_finalize(handle);
}

void Statement::bind(int position, std::int64_t value) {
  const int code = sqlite3_bind_int64(handle_.get(), position, value);
  if (bind_code_ == SQLITE_OK) bind_code_ = code;
}

void Statement::bind(int position, double value) {
  const int code = sqlite3_bind_double(handle_.get(), position, value);
  if (bind_code_ == SQLITE_OK) bind_code_ = code;
}

void Statement::bind(int position, std::string_view value) {
  // An empty view may hold a null pointer, which SQLite would take for NULL.
  const char* data = value.empty() ? "" : value.data();
  const int code = sqlite3_bind_text64(handle_.get(), position, data, value.size(),
                                       SQLITE_TRANSIENT, SQLITE_UTF8);
  if (bind_code_ == SQLITE_OK) bind_code_ = code;
}

void Statement::bind_null(int position) {
  const int code = sqlite3_bind_null(handle_.get(), position);
  if (bind_code_ == SQLITE_OK) bind_code_ = code;
}

Result<bool> Statement::next() {
  const int code = bind_code_ == SQLITE_OK ? sqlite3_step(handle_.get()) : bind_code_;
  if (code == SQLITE_ROW) return true;
  if (code == SQLITE_DONE) {
    reset();
    return false;
  }
  sqlite3* database = sqlite3_db_handle(handle_.get());
  Error error =
      sqlite_failure(code, sqlite3_system_errno(database), *path_, sqlite3_errmsg(database));
  reset();
  return error;
}

Result<void> Statement::run() {
  for (;;) {
    const auto more = next();
    if (!more) return more.error();
    if (!more.value()) return {};
  }
}

void Statement::reset() {
  // The code repeats the error of the last step, which next() has reported.
  (void)sqlite3_reset(handle_.get());
  sqlite3_clear_bindings(handle_.get());
  bind_code_ = SQLITE_OK;
}

bool Statement::is_null(int column) const {
  return sqlite3_column_type(handle_.get(), column) == SQLITE_NULL;
}

void Statement::read(int column, std::int64_t& value) const {
  value = sqlite3_column_int64(handle_.get(), column);
}

void Statement::read(int column, std::uint64_t& value) const {
  value = static_cast<std::uint64_t>(sqlite3_column_int64(handle_.get(), column));
}

void Statement::read(int column, std::uint32_t& value) const {
  value = static_cast<std::uint32_t>(sqlite3_column_int64(handle_.get(), column));
}

void Statement::read(int column, bool& value) const {
  value = sqlite3_column_int64(handle_.get(), column) != 0;
}

void Statement::read(int column, double& value) const {
  value = sqlite3_column_double(handle_.get(), column);
}

void Statement::read(int column, std::string& value) const {
  const auto* text = reinterpret_cast<const char*>(sqlite3_column_text(handle_.get(), column));
  const auto length = static_cast<std::size_t>(sqlite3_column_bytes(handle_.get(), column));
  value.assign(text == nullptr ? "" : text, text == nullptr ? 0 : length);
}

Database::Database(sqlite3* handle, std::unique_ptr<std::string> path)
    : path_(std::move(path)), handle_(handle) {}

void Database::Close::operator()(sqlite3* handle) const {
  INVARIANT(sqlite3_close(handle) == SQLITE_OK);  // Busy: a statement outlived its Database.
}

Result<Database> Database::open(const std::string& path, Span busy_wait, const std::string& vfs) {
  sqlite3* handle = nullptr;
  const int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE;
  const int code =
      sqlite3_open_v2(path.c_str(), &handle, flags, vfs.empty() ? nullptr : vfs.c_str());
  if (handle == nullptr) return sqlite_failure(SQLITE_NOMEM, 0, path, "out of memory");
  Database database(handle, std::make_unique<std::string>(path));
  if (code != SQLITE_OK) return database.failure(code);
  sqlite3_busy_timeout(handle, static_cast<int>(busy_wait.us / 1000));
  // A file that somebody altered must not run code of its own or break the schema.
  sqlite3_db_config(handle, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
  sqlite3_db_config(handle, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, nullptr);
  return database;
}

Error Database::failure(int code) const {
  return sqlite_failure(code, sqlite3_system_errno(handle_.get()), *path_,
                        sqlite3_errmsg(handle_.get()));
}

Result<void> Database::run(const std::string& sql) {
  const int code = sqlite3_exec(handle_.get(), sql.c_str(), nullptr, nullptr, nullptr);
  if (code != SQLITE_OK) return failure(code);
  return {};
}

Result<Statement> Database::prepare(std::string_view sql) {
  sqlite3_stmt* statement = nullptr;
  const int code = sqlite3_prepare_v3(handle_.get(), sql.data(), static_cast<int>(sql.size()),
                                      SQLITE_PREPARE_PERSISTENT, &statement, nullptr);
  if (code != SQLITE_OK) return failure(code);
  return Statement(statement, path_.get());
}

Result<std::int64_t> Database::number(std::string_view sql) {
  auto statement = prepare(sql);
  if (!statement) return statement.error();
  const auto row = statement.value().next();
  if (!row) return row.error();
  std::int64_t value = 0;
  if (row.value()) statement.value().into(value);
  return value;
}

Result<std::string> Database::word(std::string_view sql) {
  auto statement = prepare(sql);
  if (!statement) return statement.error();
  const auto row = statement.value().next();
  if (!row) return row.error();
  std::string value;
  if (row.value()) statement.value().into(value);
  return value;
}

Result<std::string> Database::first_bytes(std::size_t length) {
  // Through SQLite's own file object: opening and closing the file a second time in this process
  // would drop the POSIX locks of every other connection to it.
  sqlite3_file* file = nullptr;
  int code = sqlite3_file_control(handle_.get(), "main", SQLITE_FCNTL_FILE_POINTER,
                                  static_cast<void*>(&file));
  if (code != SQLITE_OK || file == nullptr || file->pMethods == nullptr) return failure(code);
  sqlite3_int64 size = 0;
  code = file->pMethods->xFileSize(file, &size);
  if (code != SQLITE_OK) return failure(code);
  std::string bytes(std::min(length, static_cast<std::size_t>(size)), '\0');
  if (!bytes.empty())
    code = file->pMethods->xRead(file, bytes.data(), static_cast<int>(bytes.size()), 0);
  if (code != SQLITE_OK) return failure(code);
  return bytes;
}

void Database::leave_untouched() {
  sqlite3_db_config(handle_.get(), SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, nullptr);
}

void Database::drop_failed_tail() {
  // A commit whose sync failed has its last frame in the log already; a process that started after
  // a crash would take it for stored. Emptying the log removes it, and so does the next commit.
  (void)sqlite3_wal_checkpoint_v2(handle_.get(), nullptr, SQLITE_CHECKPOINT_TRUNCATE, nullptr,
                                  nullptr);
}

void pause_for(Span pause) {
  sqlite3_sleep(static_cast<int>(pause.us / 1000));
}

bool Database::in_transaction() const {
  return sqlite3_get_autocommit(handle_.get()) == 0;
}

Result<Transaction> Transaction::begin(Database& database) {
  const auto begun = database.run("BEGIN IMMEDIATE");
  if (!begun) return begun.error();
  return Transaction(&database);
}

Result<Transaction> Transaction::begin_reading(Database& database) {
  const auto begun = database.run("BEGIN");
  if (!begun) return begun.error();
  return Transaction(&database);
}

Transaction::Transaction(Transaction&& other) noexcept
    : database_(std::exchange(other.database_, nullptr)) {}

Transaction::~Transaction() {
  roll_back();
}

Result<void> Transaction::commit() {
  INVARIANT(database_ != nullptr);
  const auto done = database_->run("COMMIT");
  Database* database = database_;
  roll_back();
  if (!done) database->drop_failed_tail();
  return done;
}

void Transaction::roll_back() {
  Database* database = std::exchange(database_, nullptr);
  // SQLite has rolled back by itself after most failures.
  if (database != nullptr && database->in_transaction()) (void)database->run("ROLLBACK");
}

}  // namespace ebbwatch
