#include "store/backup.h"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>

#include "store/file_names.h"
#include "store/migrations.h"
#include "store/open_database.h"
#include "store/repair.h"
#include "store/state_lock.h"

namespace ebbwatch {
namespace {

namespace fs = std::filesystem;

/// Removes an unfinished copy unless it was finished.
class Unfinished {
 public:
  explicit Unfinished(std::string path) : path_(std::move(path)) {}
  Unfinished(const Unfinished&) = delete;
  Unfinished& operator=(const Unfinished&) = delete;
  ~Unfinished() {
    if (!finished_) remove_database(path_);
  }
  void finished() { finished_ = true; }

 private:
  std::string path_;
  bool finished_ = false;
};

std::string quoted(const std::string& path) {
  std::string out = "'";
  for (const char c : path) out += c == '\'' ? std::string("''") : std::string(1, c);
  return out + "'";
}

Result<void> copy_whole(Database& from, const std::string& to) {
  const auto made = make_private_file(to);
  if (!made) return made.error();
  const auto copied = from.run("VACUUM INTO " + quoted(to));
  if (!copied) return copied;
  return sync_file(to);
}

Result<BackupContents> contents_of(const std::string& path) {
  BackupContents contents;
  std::error_code unknown;
  contents.bytes = fs::file_size(path, unknown);
  auto database = Database::open(path, limits::store_busy_wait_max, "");
  if (!database) return database.error();
  const std::pair<const char*, const char*> questions[] = {
      {"controllers' keys", "SELECT count(*) FROM keys"},
      {"passwords and read-only addresses",
       "SELECT (SELECT count(*) FROM board_passwords) + (SELECT count(*) FROM wall_addresses)"},
      {"outages", "SELECT count(*) FROM outages"},
      {"decisions, notes and other lines of the record", "SELECT count(*) FROM decisions"},
      {"notices", "SELECT count(*) FROM notices"},
      {"check-ins", "SELECT count(*) FROM check_ins"},
  };
  for (const auto& [what, sql] : questions) {
    const auto count = database.value().number(sql);
    if (!count) return count.error();
    contents.counts.emplace_back(what, count.value());
  }
  const auto newest = database.value().number(
      "SELECT max(coalesce((SELECT max(id) >> 10 FROM check_ins), 0), "
      "coalesce((SELECT max(at) FROM decisions), 0))");
  if (!newest) return newest.error();
  if (newest.value() != 0) contents.newest = WallTime{newest.value()};
  return contents;
}

Result<void> give_name(const std::string& part, const std::string& file) {
  if (::renameat2(AT_FDCWD, part.c_str(), AT_FDCWD, file.c_str(), RENAME_NOREPLACE) == 0) return {};
  const bool unsupported = errno == EINVAL || errno == ENOSYS;
  if (unsupported && ::link(part.c_str(), file.c_str()) == 0) {
    ::unlink(part.c_str());
    return {};
  }
  return Error{errno == EEXIST ? Errc::bad_input : Errc::storage,
               "The backup cannot be called " + file + " (" + std::strerror(errno) + ")."};
}

Error damaged_backup(const std::string& file, const std::string& why) {
  return {Errc::bad_input, "The file " + file + " is damaged (" + why +
                               "). Nothing was changed. Take another backup."};
}

Result<void> check_backup(const std::string& file) {
  switch (kind_of(file)) {
    case FileKind::missing:
      return Error{Errc::not_found, "The file " + file + " is not there, or cannot be read."};
    case FileKind::foreign:
      return Error{Errc::refused, "The file " + file +
                                      " is the database of another program. Nothing was changed."};
    case FileKind::empty:
    case FileKind::other:
    case FileKind::unmarked:
      return Error{Errc::bad_input,
                   "The file " + file +
                       " is not a backup of ebbwatch, or its beginning is damaged. Nothing was "
                       "changed."};
    case FileKind::newer:
      return Error{Errc::newer_version,
                   "The backup " + file +
                       " was written by a later version of ebbwatch. Nothing was changed. Install "
                       "that version and try again."};
    case FileKind::ours:
      break;
  }
  const std::string why = damage_of(file, true);
  if (!why.empty()) return damaged_backup(file, why);
  return {};
}

/// The next outage's number that a database would give; 1 when it cannot be read.
std::int64_t next_number(const std::string& path) {
  if (kind_of(path) != FileKind::ours) return 1;
  auto database = Database::open(path, limits::store_busy_wait_max, "");
  if (!database) return 1;
  database.value().leave_untouched();
  const auto next = database.value().number(
      "SELECT max(coalesce((SELECT value FROM facts WHERE name = 'next_outage'), 1), "
      "coalesce((SELECT max(id) + 1 FROM outages), 1))");
  return next ? next.value() : 1;
}

}  // namespace

Result<BackupContents> write_backup(const std::string& state_dir, const std::string& file) {
  const std::string path = database_path(state_dir);
  if (kind_of(path) == FileKind::missing)
    return Error{Errc::not_found,
                 path +
                     " is not there: nothing was recorded yet, or this user may not look into "
                     "the folder."};
  if (::access(file.c_str(), F_OK) == 0)
    return Error{Errc::bad_input, "The file " + file +
                                      " is there already and was left as it is. Name another one, "
                                      "or move it away."};
  auto database = open_database(state_dir);
  if (!database) return database.error();
  const std::string part = file + ".part";
  remove_database(part);  // Of a copy that was cut off.
  Unfinished unfinished(part);
  const auto copied = copy_whole(database.value(), part);
  if (!copied) return copied.error();
  const std::string why = damage_of(part, true);
  if (!why.empty())
    return Error{Errc::storage, "The copy came out damaged (" + why +
                                    "), so the database is. Restart ebbwatchd: it looks for damage "
                                    "and repairs it."};
  auto contents = contents_of(part);
  if (!contents) return contents;
  const auto named = give_name(part, file);
  if (!named) return named.error();
  unfinished.finished();
  const auto synced = sync_file(file);
  if (!synced) return synced.error();
  return contents;
}

Result<Restored> restore_backup(const std::string& state_dir, const std::string& file,
                                WallTime now) {
  const auto folder = make_state_folder(state_dir);
  if (!folder) return folder.error();
  const auto lock = StateLock::take(state_dir);
  if (!lock)
    return lock.error().code == Errc::busy
               ? Error{Errc::busy, "An ebbwatchd works with " + state_dir +
                                       ". Stop it first (systemctl stop ebbwatch), then restore, "
                                       "then start it."}
               : lock.error();
  const auto sound = check_backup(file);
  if (!sound) return sound.error();
  const std::string path = database_path(state_dir);
  const std::string fresh = path + ".new";
  remove_database(fresh);
  Unfinished unfinished(fresh);
  {
    auto backup = Database::open(file, limits::store_busy_wait_max, "");
    if (!backup) return backup.error();
    backup.value().leave_untouched();
    const auto copied = copy_whole(backup.value(), fresh);
    if (!copied) return copied.error();
  }
  const std::int64_t next = std::max(next_number(path), next_number(fresh));
  {
    auto database = open_database_file(fresh);  // Brings an older one up to date.
    if (!database) return database.error();
    const auto set =
        database.value().run("INSERT OR REPLACE INTO facts(name, value) VALUES('next_outage', " +
                             std::to_string(next) + ")");
    if (!set) return set.error();
  }
  auto contents = contents_of(fresh);
  if (!contents) return contents.error();
  const auto synced = sync_file(fresh);
  if (!synced) return synced.error();
  auto aside = put_in_place(fresh, path, aside_replaced, now);
  if (!aside) return aside.error();
  unfinished.finished();
  return Restored{std::move(contents.value()), std::move(aside.value())};
}

}  // namespace ebbwatch
