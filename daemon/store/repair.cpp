#include "store/repair.h"

#include <sqlite3.h>
#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <memory>

#include "store/file_names.h"
#include "store/open_database.h"
#include "store/state_lock.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

namespace fs = std::filesystem;

constexpr std::uintmax_t looked_through_whole = 64U << 20U;  ///< Bytes; less than a second.
constexpr Span raw_history_kept = Span::of_h(7 * 24);
/// Numbers of outages are never used twice, even where the newest ones cannot be read any more.
constexpr int numbers_skipped = 1000;

std::string kept_path(const std::string& state_dir) {
  return state_dir + "/ebbwatch-kept.sqlite3";
}

const std::vector<std::string>& kept_tables() {
  static const std::vector<std::string> tables{"keys", "board_passwords", "wall_addresses",
                                               "facts"};
  return tables;
}

struct CloseHandle {
  void operator()(sqlite3* handle) const { sqlite3_close(handle); }
};

bool is_damage(int code) {
  return (code & 0xff) == SQLITE_CORRUPT || (code & 0xff) == SQLITE_NOTADB;
}

/// Rows of a question, or why there are none.
struct Answer {
  std::vector<std::string> rows;
  int code = SQLITE_OK;
  std::string reason;
};

Answer ask(sqlite3* database, const std::string& sql) {
  Answer answer;
  const auto add = [](void* rows, int count, char** values, char**) {
    if (count > 0 && values[0] != nullptr)
      static_cast<std::vector<std::string>*>(rows)->emplace_back(values[0]);
    return 0;
  };
  answer.code = sqlite3_exec(database, sql.c_str(), add, &answer.rows, nullptr);
  if (answer.code != SQLITE_OK) answer.reason = sqlite3_errmsg(database);
  return answer;
}

/// What is wrong, in SQLite's words; empty: nothing.
std::string look_through(sqlite3* database, const std::string& what) {
  const auto found = ask(database, "PRAGMA quick_check" + what);
  if (is_damage(found.code)) return found.reason;
  if (found.code != SQLITE_OK || found.rows.empty() || found.rows.front() == "ok") return {};
  return found.rows.front().substr(0, found.rows.front().find('\n', 30));
}

std::string beginning_of(const std::string& path) {
  std::string bytes(16, '\0');
  std::ifstream file(path, std::ios::binary);
  file.read(bytes.data(), 16);
  bytes.resize(static_cast<std::size_t>(file.gcount()));
  return bytes;
}

Result<void> skip_numbers(const std::string& path, const std::vector<SalvagedTable>& tables) {
  const bool whole = std::all_of(tables.begin(), tables.end(), [](const SalvagedTable& table) {
    return table.whole ||
           (table.name != "facts" && table.name != "outages" && table.name != "drills");
  });
  if (whole) return {};
  auto database = open_database_file(path);
  if (!database) return database.error();
  return database.value().run(
      "INSERT OR REPLACE INTO facts(name, value) SELECT 'next_outage', " +
      std::to_string(numbers_skipped) +
      " + max(coalesce((SELECT value FROM facts WHERE name = 'next_outage'), 1), "
      "coalesce((SELECT max(id) FROM outages), 1), coalesce((SELECT max(outage) FROM drills), 1), "
      "coalesce((SELECT max(outage) FROM decisions), 1))");
}

/// @return whether something was taken from the copy.
Result<bool> take_from_kept(const std::string& state_dir, const std::string& into,
                            const std::vector<SalvagedTable>& tables) {
  SalvageWish wish;
  for (const auto& name : kept_tables()) {
    const bool broken = std::any_of(tables.begin(), tables.end(), [&](const SalvagedTable& one) {
      return one.name == name && !one.whole;
    });
    if (broken) wish.tables.push_back(name);
  }
  if (wish.tables.empty() || ::access(kept_path(state_dir).c_str(), F_OK) != 0) return false;
  const auto taken = salvage(kept_path(state_dir), into, wish);
  if (!taken) return taken.error();
  return std::any_of(taken.value().begin(), taken.value().end(),
                     [](const SalvagedTable& one) { return one.rows > 0; });
}

std::string list_of(const std::vector<SalvagedTable>& tables, const char* between) {
  std::string out;
  for (const auto& table : tables) {
    out += (out.empty() ? "" : between) + table.name + " " + std::to_string(table.rows) +
           (table.whole ? "" : " (a part could not be read)");
  }
  return out;
}

Result<Repair> begin_anew(const std::string& state_dir, std::string why, WallTime now) {
  const std::string path = database_path(state_dir);
  const std::string fresh = path + ".new";
  remove_database(fresh);
  {
    const auto made = make_private_file(fresh);
    if (!made) return made.error();
    const auto database = open_database_file(fresh);
    if (!database) return database.error();
  }
  Repair repair;
  repair.why = std::move(why);
  SalvageWish wish;
  wish.check_ins_since = now - raw_history_kept;
  auto taken = salvage(path, fresh, wish);
  if (!taken) return taken.error();
  repair.tables = std::move(taken.value());
  const auto from_kept = take_from_kept(state_dir, fresh, repair.tables);
  if (!from_kept) return from_kept.error();
  repair.from_kept_copy = from_kept.value();
  const auto skipped = skip_numbers(fresh, repair.tables);
  if (!skipped) return skipped.error();
  { const auto closed = open_database_file(fresh); }  // Closing moves the log into the file.
  const auto synced = sync_file(fresh);
  if (!synced) return synced.error();
  auto aside = put_in_place(fresh, path, aside_damaged, now);
  if (!aside) return aside.error();
  repair.put_aside = std::move(aside.value());
  std::ofstream(repair.put_aside + ".txt") << repair_text(repair) << "\n\nTaken over, in rows:\n  "
                                           << list_of(repair.tables, "\n  ") << "\n";
  return repair;
}

}  // namespace

std::string repair_text(const Repair& repair) {
  std::int64_t lost_in = 0;
  for (const auto& table : repair.tables) lost_in += table.whole ? 0 : 1;
  return "The database was damaged (" + repair.why + "). It was put aside as " + repair.put_aside +
         ", and watching goes on with a new one. Taken over: " + list_of(repair.tables, ", ") +
         (lost_in == 0 ? ". Only raw check-ins older than 7 days were left behind." : ".") +
         (repair.from_kept_copy
              ? " Keys, passwords or addresses that could not be read came from the copy of "
                "the last start."
              : "") +
         " If a controller is refused now, enrol it again. To go back to a backup: stop "
         "ebbwatchd, then run ebbwatch restore FILE. Check the disk or card.";
}

std::string damage_of(const std::string& path, bool all) {
  std::error_code unknown;
  const auto size = fs::file_size(path, unknown);
  if (unknown) return {};
  if (size == 0) return "the file is empty";
  if (beginning_of(path) != std::string("SQLite format 3\0", 16))
    return "its beginning is not that of a database";
  sqlite3* opened = nullptr;
  const int code =
      sqlite3_open_v2(path.c_str(), &opened, SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX, nullptr);
  const std::unique_ptr<sqlite3, CloseHandle> database(opened);
  if (code != SQLITE_OK) return {};
  sqlite3_db_config(opened, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, nullptr);
  sqlite3_db_config(opened, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
  sqlite3_db_config(opened, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, nullptr);
  sqlite3_busy_timeout(opened, 5000);
  if (all || size <= looked_through_whole) return look_through(opened, "(1)");
  const auto tables = ask(opened,
                          "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT IN "
                          "('check_ins', 'watcher_rows', 'hours')");
  if (is_damage(tables.code)) return tables.reason;
  for (const auto& table : tables.rows) {
    std::string wrong = look_through(opened, "('" + table + "')");
    if (!wrong.empty()) return wrong;
  }
  return {};
}

Result<std::optional<Repair>> repair_if_damaged(const std::string& state_dir, WallTime now) {
  const std::string path = database_path(state_dir);
  if (::access(path.c_str(), F_OK) != 0) return std::optional<Repair>();
  const auto lock = StateLock::take(state_dir);
  if (!lock) return lock.error();
  const auto kind = kind_of(path);
  if (kind == FileKind::foreign || kind == FileKind::newer) return std::optional<Repair>();
  std::string why = damage_of(path, false);
  if (why.empty()) return std::optional<Repair>();
  auto repair = begin_anew(state_dir, std::move(why), now);
  if (!repair) return repair.error();
  return std::optional<Repair>(std::move(repair.value()));
}

std::vector<std::string> set_aside_remarks(const std::string& state_dir) {
  std::vector<std::string> remarks;
  for (const auto& file : damaged_files(database_path(state_dir))) {
    remarks.push_back("The database was damaged and was put aside as " + file +
                      "; what could be read was taken over, and " +
                      fs::path(file).filename().string() +
                      ".txt beside it says what. To go back to a backup: stop ebbwatchd, then run "
                      "ebbwatch restore FILE. Delete the damaged file when nobody needs it; this "
                      "line ends with the next start or reload after that.");
  }
  return remarks;
}

Result<void> keep_copy(const std::string& state_dir) {
  const std::string path = kept_path(state_dir);
  const std::string fresh = path + ".new";
  remove_database(fresh);
  {
    const auto made = make_private_file(fresh);
    if (!made) return made.error();
    const auto database = open_database_file(fresh);
    if (!database) return database.error();
  }
  SalvageWish wish;
  wish.tables = kept_tables();
  const auto taken = salvage(database_path(state_dir), fresh, wish);
  if (!taken) return taken.error();
  for (const auto& table : taken.value()) {
    if (!table.whole) {
      return Error{Errc::storage, "The table " + table.name + " of " + database_path(state_dir) +
                                      " cannot be read whole; the older copy was kept. Restart "
                                      "ebbwatchd: it then looks for damage and repairs it."};
    }
  }
  { const auto closed = open_database_file(fresh); }
  const auto synced = sync_file(fresh);
  if (!synced) return synced.error();
  if (std::rename(fresh.c_str(), path.c_str()) != 0)
    return Error{Errc::storage, "The file " + path + " cannot be replaced. Check its owner."};
  return {};
}

}  // namespace ebbwatch
