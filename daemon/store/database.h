// SQLite with owners: connection, statement and transaction close themselves, and every failure is
// an Error with a sentence and a remedy. Only files of this folder include sqlite3.h. One thread at
// a time.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "core/result.h"
#include "core/time.h"

struct sqlite3;
struct sqlite3_stmt;

namespace ebbwatch {

/// A result code of SQLite as an Error. @param code primary or extended. @param system_error errno
/// of the failed call, 0 when there is none. @param path the database file, for the sentence.
Error sqlite_failure(int code, int system_error, const std::string& path, std::string_view detail);

/// A prepared statement, kept for the life of its owner. Must end before its Database.
class Statement {
 public:
  Statement(sqlite3_stmt* handle, const std::string* path);

  /// Binds ?1, ?2, … and is ready to step from the beginning. Text is copied. Unsigned 64-bit
  /// numbers are stored as the signed number with the same bits; an empty optional is NULL.
  template <class... Values>
  Statement& with(const Values&... values) {
    reset();
    int position = 0;
    (bind(++position, values), ...);
    return *this;
  }
  /// @return true: a row is there, see into(); false: the end. The statement is reset at the end
  /// and on an error. Who leaves earlier calls reset().
  Result<bool> next();
  /// Steps to the end, ignoring rows.
  Result<void> run();
  void reset();

  /// Copies the columns 0, 1, … of the current row. @pre next() gave true.
  template <class... Values>
  void into(Values&... values) const {
    int column = 0;
    (read(column++, values), ...);
  }

 private:
  void bind(int position, std::int64_t value);
  void bind(int position, std::uint64_t value) { bind(position, static_cast<std::int64_t>(value)); }
  void bind(int position, std::uint32_t value) { bind(position, static_cast<std::int64_t>(value)); }
  void bind(int position, bool value) { bind(position, std::int64_t{value ? 1 : 0}); }
  void bind(int position, double value);
  void bind(int position, std::string_view value);
  void bind(int position, const std::string& value) { bind(position, std::string_view(value)); }
  void bind(int position, const char* value) { bind(position, std::string_view(value)); }
  void bind(int position, WallTime value) { bind(position, value.us); }
  void bind(int position, Span value) { bind(position, value.us); }
  void bind_null(int position);
  template <class T>
  void bind(int position, const std::optional<T>& value) {
    if (value) {
      bind(position, *value);
    } else {
      bind_null(position);
    }
  }

  bool is_null(int column) const;
  void read(int column, std::int64_t& value) const;
  void read(int column, std::uint64_t& value) const;
  void read(int column, std::uint32_t& value) const;
  void read(int column, bool& value) const;
  void read(int column, double& value) const;
  void read(int column, std::string& value) const;
  void read(int column, WallTime& value) const { read(column, value.us); }
  void read(int column, Span& value) const { read(column, value.us); }
  template <class T>
  void read(int column, std::optional<T>& value) const {
    value.reset();
    if (!is_null(column)) read(column, value.emplace());
  }

  struct Finalize {
    void operator()(sqlite3_stmt* handle) const;
  };
  std::unique_ptr<sqlite3_stmt, Finalize> handle_;
  const std::string* path_;
  int bind_code_ = 0;  ///< First failed bind; reported by next().
};

/// Lets other processes go on, for a wait that SQLite does not do by itself.
void pause_for(Span pause);

class Database {
 public:
  /// Opens an existing file for reading and writing; changes nothing in it.
  /// @param vfs name of the SQLite file layer; empty: the default one.
  static Result<Database> open(const std::string& path, Span busy_wait, const std::string& vfs);

  /// One or more statements without results.
  Result<void> run(const std::string& sql);
  Result<Statement> prepare(std::string_view sql);
  /// First column of the first row as a number, or as text.
  Result<std::int64_t> number(std::string_view sql);
  Result<std::string> word(std::string_view sql);
  /// The first `length` bytes of the file as they lie on the disk, without taking a lock or looking
  /// at the write-ahead log; shorter when the file is.
  Result<std::string> first_bytes(std::size_t length);
  /// Closing will not move the write-ahead log into the file.
  void leave_untouched();
  /// Forgets what a failed commit may have left at the end of the write-ahead log. Best effort.
  void drop_failed_tail();
  bool in_transaction() const;
  const std::string& path() const { return *path_; }

 private:
  Database(sqlite3* handle, std::unique_ptr<std::string> path);
  Error failure(int code) const;
  struct Close {
    void operator()(sqlite3* handle) const;
  };
  std::unique_ptr<std::string> path_;  ///< On the heap: statements point to it.
  std::unique_ptr<sqlite3, Close> handle_;
};

/// All or nothing: ends with a rollback unless commit() succeeded.
class Transaction {
 public:
  /// Takes the write lock at once, waiting up to the busy time. Errors: busy, storage.
  static Result<Transaction> begin(Database& database);
  /// One moment for several reads; takes no lock from a writer.
  static Result<Transaction> begin_reading(Database& database);
  Transaction(Transaction&& other) noexcept;
  Transaction& operator=(Transaction&&) = delete;
  ~Transaction();
  /// On an error nothing is stored (see Store::commit for what a power cut right after may do).
  Result<void> commit();

 private:
  explicit Transaction(Database* database) : database_(database) {}
  void roll_back();
  Database* database_;  ///< Null when moved from or ended.
};

}  // namespace ebbwatch
