#include "store/open_database.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <string_view>

#include "store/migrations.h"

namespace ebbwatch {
namespace {

// SQLite file format, "The Database Header": offsets of two big-endian numbers in the first 100
// bytes.
constexpr std::size_t header_bytes = 100;
constexpr std::size_t user_version_offset = 60;
constexpr std::size_t application_id_offset = 68;
constexpr std::string_view header_magic("SQLite format 3\0", 16);

std::uint32_t big_endian(const std::string& bytes, std::size_t offset) {
  std::uint32_t value = 0;
  for (std::size_t i = offset; i < offset + 4; ++i)
    value = value << 8 | static_cast<unsigned char>(bytes[i]);
  return value;
}

Error not_ours(const std::string& path) {
  return {Errc::refused, "The file " + path +
                             " is the database of another program. It was left as it is. Name "
                             "another state_dir, or move the file away."};
}

Error not_a_database(const std::string& path) {
  return {Errc::storage,
          "The file " + path +
              " is not a database or its beginning is damaged. It was left as it is. "
              "Start ebbwatchd: it puts the file aside and goes on with what can be read. Or run "
              "ebbwatch restore BACKUP while it is stopped."};
}

// Looks at the bytes on the disk only, so that a foreign or newer file is refused before SQLite
// looks at its write-ahead log, which may write.
Result<void> check_header(Database& database) {
  const auto bytes = database.first_bytes(header_bytes);
  if (!bytes) return bytes.error();
  const std::string& header = bytes.value();
  if (header.empty()) return {};
  if (header.size() < header_bytes || !std::string_view(header).starts_with(header_magic))
    return not_a_database(database.path());
  const auto application = big_endian(header, application_id_offset);
  if (application != 0 && application != schema_application_id) return not_ours(database.path());
  const auto version = big_endian(header, user_version_offset);
  if (application == schema_application_id && version > schema_version_newest)
    return newer_version_error(database.path(), version);
  return {};
}

// The same with the write-ahead log, where newer numbers may lie after a crash.
Result<void> check_contents(Database& database) {
  // One moment for all three: another process may just be making the tables.
  auto moment = Transaction::begin_reading(database);
  if (!moment) return moment.error();
  const auto application = database.number("PRAGMA application_id");
  if (!application) return application.error();
  const auto version = database.number("PRAGMA user_version");
  if (!version) return version.error();
  const auto tables = database.number("SELECT count(*) FROM sqlite_schema");
  if (!tables) return tables.error();
  const bool unmarked = application.value() == 0 && version.value() == 0 && tables.value() == 0;
  if (application.value() != schema_application_id && !unmarked) return not_ours(database.path());
  if (version.value() > schema_version_newest)
    return newer_version_error(database.path(), version.value());
  return moment.value().commit();
}

// SQLite does not wait by itself where two processes change the mode of a new file at once.
Result<std::string> switch_to_log(Database& database, Span busy_wait) {
  constexpr Span pause = Span::of_ms(5);
  for (Span waited;; waited += pause) {
    auto mode = database.word("PRAGMA journal_mode = WAL");
    if (mode.ok() || mode.error().code != Errc::busy || waited >= busy_wait) return mode;
    pause_for(pause);
  }
}

Result<void> set_up(Database& database, Span busy_wait) {
  const auto mode = switch_to_log(database, busy_wait);
  if (!mode) return mode.error();
  if (mode.value() != "wal")
    return Error{Errc::storage, "The folder of " + database.path() +
                                    " cannot hold a write-ahead log (its file system has no shared "
                                    "memory). Put state_dir on a local disk."};
  const auto tuned =
      database.run("PRAGMA synchronous = FULL; PRAGMA journal_size_limit = 8388608;");
  if (!tuned) return tuned;
  return migrate(database);
}

Error cannot_make(const std::string& path, int system_error) {
  return {Errc::storage, "The file " + path + " cannot be made (" + std::strerror(system_error) +
                             "). Check that its folder belongs to the daemon's user and is not "
                             "mounted read-only, and that the disk is not full."};
}

}  // namespace

std::string database_path(const std::string& state_dir) {
  return state_dir + "/ebbwatch.sqlite3";
}

Result<void> make_state_folder(const std::string& folder) {
  std::error_code failed;
  const bool made = std::filesystem::create_directories(folder, failed);
  if (!failed && made) std::filesystem::permissions(folder, std::filesystem::perms{0750}, failed);
  if (!failed) return {};
  return Error{Errc::storage, "The folder " + folder + " cannot be made (" + failed.message() +
                                  "). Make it and give it to the daemon's user, or name another "
                                  "state_dir."};
}

FileKind kind_of(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) return FileKind::missing;
  std::string header(header_bytes, '\0');
  file.read(header.data(), header_bytes);
  if (file.gcount() == 0) return FileKind::empty;
  if (file.gcount() < static_cast<std::streamsize>(header_bytes) ||
      !std::string_view(header).starts_with(header_magic))
    return FileKind::other;
  const auto application = big_endian(header, application_id_offset);
  if (application == 0) return FileKind::unmarked;
  if (application != schema_application_id) return FileKind::foreign;
  const auto version = big_endian(header, user_version_offset);
  return version > schema_version_newest ? FileKind::newer : FileKind::ours;
}

Result<bool> make_private_file(const std::string& path) {
  const int file = ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
  if (file < 0 && errno == EEXIST) return false;
  if (file < 0) return cannot_make(path, errno);
  struct stat folder {};
  const std::string parent = std::filesystem::path(path).parent_path().string();
  const bool given = ::geteuid() != 0 || (::stat(parent.c_str(), &folder) == 0 &&
                                          ::fchown(file, folder.st_uid, folder.st_gid) == 0);
  const int system_error = errno;
  ::close(file);
  if (!given) return cannot_make(path, system_error);
  return true;
}

Result<Database> open_database(const std::string& state_dir, const DatabaseOptions& options) {
  const auto folder = make_state_folder(state_dir);
  if (!folder) return folder.error();
  const std::string path = database_path(state_dir);
  const auto file = make_private_file(path);
  if (!file) return file.error();
  return open_database_file(path, options);
}

Result<Database> open_database_file(const std::string& path, const DatabaseOptions& options) {
  auto database = Database::open(path, options.busy_wait, options.vfs);
  if (!database) return database;
  const auto header = check_header(database.value());
  if (!header) return header.error();
  const auto contents = check_contents(database.value());
  if (!contents) {
    database.value().leave_untouched();
    return contents.error();
  }
  // A file that was copied here may be open to others. Fails for somebody else's file, whose mode
  // is their matter.
  (void)::chmod(path.c_str(), 0600);
  const auto ready = set_up(database.value(), options.busy_wait);
  if (!ready) return ready.error();
  return database;
}

}  // namespace ebbwatch
