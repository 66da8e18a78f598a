#include "store/salvage.h"

#include <sqlite3.h>

#include <algorithm>
#include <limits>
#include <memory>
#include <optional>

#include "store/database.h"

namespace ebbwatch {
namespace {

constexpr int broken_places_max = 10'000;  ///< In one table; then its rest is given up.

struct CloseHandle {
  void operator()(sqlite3* handle) const { sqlite3_close(handle); }
};
struct EndStatement {
  void operator()(sqlite3_stmt* handle) const { sqlite3_finalize(handle); }
};
using Handle = std::unique_ptr<sqlite3, CloseHandle>;
using Raw = std::unique_ptr<sqlite3_stmt, EndStatement>;

Handle open_raw(const std::string& path, int flags, int& code) {
  sqlite3* handle = nullptr;
  code = sqlite3_open_v2(path.c_str(), &handle, flags | SQLITE_OPEN_NOMUTEX, nullptr);
  if (handle == nullptr) return nullptr;
  sqlite3_busy_timeout(handle, 5000);
  sqlite3_db_config(handle, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
  sqlite3_db_config(handle, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, nullptr);
  sqlite3_db_config(handle, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, nullptr);
  return Handle(handle);
}

Raw prepare(sqlite3* database, const std::string& sql) {
  sqlite3_stmt* handle = nullptr;
  sqlite3_prepare_v2(database, sql.c_str(), -1, &handle, nullptr);
  return Raw(handle);
}

/// The names in the first column; empty when they cannot be read.
std::optional<std::vector<std::string>> words(sqlite3* database, const std::string& sql) {
  const Raw query = prepare(database, sql);
  std::vector<std::string> found;
  if (!query) return std::nullopt;
  for (;;) {
    const int code = sqlite3_step(query.get());
    if (code == SQLITE_DONE) return found;
    if (code != SQLITE_ROW) return std::nullopt;
    const auto* text = reinterpret_cast<const char*>(sqlite3_column_text(query.get(), 0));
    if (text != nullptr) found.emplace_back(text);
  }
}

std::string columns_sql(const std::string& table) {
  return "SELECT name FROM pragma_table_info('" + table + "')";
}

std::string joined(const std::vector<std::string>& names, const char* each = nullptr) {
  std::string out;
  for (const auto& name : names) out += (out.empty() ? "" : ", ") + (each ? each : name);
  return out;
}

/// One table on its way from one file to the other.
class TableCopy {
 public:
  TableCopy(sqlite3* from, sqlite3* into, std::string into_path, SalvagedTable& done)
      : from_(from), into_(into), path_(std::move(into_path)), done_(done) {}

  Result<void> run(std::int64_t least_rowid) {
    const auto has = words(from_, columns_sql(done_.name));
    const auto wants = words(into_, columns_sql(done_.name));
    if (!has || !wants) done_.whole = false;
    if (!has || !wants || has->empty()) return {};  // A table of a later version is just not there.
    std::vector<std::string> columns;
    for (const auto& name : *wants)
      if (std::find(has->begin(), has->end(), name) != has->end()) columns.push_back(name);
    count_ = static_cast<int>(columns.size());
    insert_ = prepare(into_, "INSERT OR IGNORE INTO " + done_.name + "(" + joined(columns) +
                                 ") VALUES(" + joined(columns, "?") + ")");
    if (!insert_) return failure();
    const auto rowless =
        words(into_, "SELECT wr FROM pragma_table_list('" + done_.name + "') WHERE wr = 1");
    const std::string select = "SELECT " + joined(columns);
    if (rowless && !rowless->empty()) return both_ends(select);
    return by_rowid(select, least_rowid);
  }

 private:
  Error failure() const {
    return sqlite_failure(sqlite3_extended_errcode(into_), sqlite3_system_errno(into_), path_,
                          sqlite3_errmsg(into_));
  }

  Result<void> take(sqlite3_stmt* row) {
    for (int i = 0; i < count_; ++i)
      sqlite3_bind_value(insert_.get(), i + 1, sqlite3_column_value(row, i));
    const int code = sqlite3_step(insert_.get());
    if (code == SQLITE_DONE) {
      done_.rows += sqlite3_changes(into_);
    } else if ((code & 0xff) == SQLITE_CONSTRAINT || (code & 0xff) == SQLITE_MISMATCH) {
      done_.whole = false;  // What stood there is no row of this table any more.
    } else {
      return failure();
    }
    sqlite3_reset(insert_.get());
    return {};
  }

  /// Takes rows until the end or a broken page. @return true at the end.
  Result<bool> take_until_broken(sqlite3_stmt* rows, std::int64_t* last) {
    for (;;) {
      const int code = sqlite3_step(rows);
      if (code == SQLITE_DONE) return true;
      if (code != SQLITE_ROW) return false;
      const auto taken = take(rows);
      if (!taken) return taken.error();
      if (last != nullptr) *last = sqlite3_column_int64(rows, count_);
    }
  }

  /// Tables that lie in the order of a text key are small: from the front to the first broken page,
  /// then from the back.
  Result<void> both_ends(const std::string& select) {
    const auto keys = words(
        into_, "SELECT name FROM pragma_table_info('" + done_.name + "') WHERE pk > 0 ORDER BY pk");
    if (!keys) return failure();
    for (const char* direction : {"", " DESC"}) {
      std::string order;
      for (const auto& key : *keys) order += (order.empty() ? "" : ", ") + key + direction;
      const Raw rows =
          prepare(from_, select + " FROM " + done_.name + " NOT INDEXED ORDER BY " + order);
      if (!rows) break;
      const auto ended = take_until_broken(rows.get(), nullptr);
      if (!ended) return ended.error();
      if (ended.value()) return {};
    }
    done_.whole = false;
    return {};
  }

  Result<void> by_rowid(const std::string& select, std::int64_t next) {
    const std::string tail =
        " FROM " + done_.name + " NOT INDEXED WHERE rowid >= ?1 ORDER BY rowid";
    const Raw rows = prepare(from_, select + ", rowid" + tail);
    const Raw probe = prepare(from_, "SELECT rowid" + tail + " LIMIT 1");
    if (!rows || !probe) {
      done_.whole = false;
      return {};
    }
    for (int broken = 0; broken < broken_places_max; ++broken) {
      sqlite3_reset(rows.get());
      sqlite3_bind_int64(rows.get(), 1, next);
      std::int64_t last = next - 1;
      const auto ended = take_until_broken(rows.get(), &last);
      if (!ended) return ended.error();
      if (ended.value()) return {};
      done_.whole = false;
      const auto beyond = first_readable(probe.get(), last + 1);
      if (!beyond) return {};
      next = *beyond;
    }
    return {};
  }

  static bool readable(sqlite3_stmt* probe, std::int64_t from) {
    sqlite3_reset(probe);
    sqlite3_bind_int64(probe, 1, from);
    const int code = sqlite3_step(probe);
    sqlite3_reset(probe);
    return code == SQLITE_ROW || code == SQLITE_DONE;
  }

  /// The least number after `broken` from which reading works again: steps that double, then
  /// halves.
  static std::optional<std::int64_t> first_readable(sqlite3_stmt* probe, std::int64_t broken) {
    constexpr std::int64_t most = std::numeric_limits<std::int64_t>::max();
    std::int64_t bad = broken;
    std::int64_t good = broken;
    for (std::int64_t step = 1;; step *= 2) {
      if (good == most || step > most / 2) return std::nullopt;
      good = broken > most - step ? most : broken + step;
      if (readable(probe, good)) break;
      bad = good;
    }
    while (good - bad > 1) {
      const std::int64_t middle = bad + (good - bad) / 2;
      (readable(probe, middle) ? good : bad) = middle;
    }
    return good;
  }

  sqlite3* from_;
  sqlite3* into_;
  std::string path_;
  SalvagedTable& done_;
  int count_ = 0;
  Raw insert_;
};

bool is_history(const std::string& table) {
  return table == "check_ins" || table == "hours" || table == "watcher_rows";
}

}  // namespace

Result<std::vector<SalvagedTable>> salvage(const std::string& from, const std::string& into,
                                           const SalvageWish& wish) {
  int code = SQLITE_OK;
  const Handle target = open_raw(into, SQLITE_OPEN_READWRITE, code);
  if (!target || code != SQLITE_OK) return sqlite_failure(code, 0, into, "cannot be opened");
  const Handle source = open_raw(from, SQLITE_OPEN_READONLY, code);
  // A file without any table is one that lost them.
  const auto present = source && code == SQLITE_OK
                           ? words(source.get(), "SELECT name FROM sqlite_schema LIMIT 1")
                           : std::nullopt;
  const bool opened = present && !present->empty();
  // "names" first: whether it is whole decides about the history.
  auto tables = words(target.get(),
                      "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE "
                      "'sqlite_%' ORDER BY name != 'names', name");
  if (!tables) return sqlite_failure(SQLITE_CORRUPT, 0, into, "its tables cannot be read");
  std::vector<SalvagedTable> done;
  bool names_whole = true;
  for (const auto& table : *tables) {
    const bool wished = wish.tables.empty() || std::find(wish.tables.begin(), wish.tables.end(),
                                                         table) != wish.tables.end();
    if (!wished) continue;
    auto& one = done.emplace_back();
    one.name = table;
    one.whole = opened && (names_whole || !is_history(table));
    if (!one.whole) continue;
    const std::int64_t least = table == "check_ins" ? wish.check_ins_since.us * 1024
                                                    : std::numeric_limits<std::int64_t>::min() + 1;
    sqlite3_exec(target.get(), "BEGIN IMMEDIATE", nullptr, nullptr, nullptr);
    const auto copied = TableCopy(source.get(), target.get(), into, one).run(least);
    if (!copied) return copied.error();
    if (sqlite3_exec(target.get(), "COMMIT", nullptr, nullptr, nullptr) != SQLITE_OK)
      return sqlite_failure(sqlite3_extended_errcode(target.get()),
                            sqlite3_system_errno(target.get()), into, sqlite3_errmsg(target.get()));
    if (table == "names") names_whole = one.whole;
  }
  return done;
}

}  // namespace ebbwatch
