// From a state folder to a database that is ours, up to date and private: creates what is missing,
// refuses what is not ours before anything is written.
#pragma once

#include <cstdint>
#include <string>

#include "core/limits.h"
#include "core/result.h"
#include "store/database.h"

namespace ebbwatch {

struct DatabaseOptions {
  /// How long a statement waits for another process before it ends with `busy`.
  Span busy_wait = limits::store_busy_wait_max;
  std::string vfs;  ///< SQLite file layer; empty: the operating system's.
};

/// state_dir/ebbwatch.sqlite3
std::string database_path(const std::string& state_dir);

/// Opens the database of a state folder, making the folder (mode 0750) and the file (mode 0600)
/// when missing, in write-ahead mode, with the newest tables. When root makes the file, it goes to
/// the folder's owner. Errors: newer_version and refused (another program's database), file
/// unchanged in both; storage (damaged, not writable, full); busy.
Result<Database> open_database(const std::string& state_dir, const DatabaseOptions& options = {});

/// The same for a file that is there, wherever it lies; an empty one becomes a database.
Result<Database> open_database_file(const std::string& path, const DatabaseOptions& options = {});

/// What the first bytes of a file say, without opening it as a database.
enum class FileKind : std::uint8_t { missing, empty, ours, unmarked, foreign, newer, other };
FileKind kind_of(const std::string& path);

/// Makes the folder with mode 0750 unless it is there. Errors: storage.
Result<void> make_state_folder(const std::string& state_dir);

/// Makes an empty file with mode 0600 that belongs to its folder's owner. @return false when there
/// was one before, which is left as it is.
Result<bool> make_private_file(const std::string& path);

}  // namespace ebbwatch
