// A whole copy of the database in one file, and the way back.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "core/result.h"
#include "core/time.h"

namespace ebbwatch {

/// What a copy holds.
struct BackupContents {
  std::uintmax_t bytes = 0;
  /// For people, with their counts: {"controllers' keys", 12}.
  std::vector<std::pair<std::string, std::int64_t>> counts{};
  std::optional<WallTime> newest{};  ///< Time of the newest check-in or decision.
};

/// Copies the database of a state folder to `file`, as it is at one moment, while a daemon may
/// write to it. The file has mode 0600; it holds hashes of keys and passwords, and what makes
/// datagrams genuine. Unfinished it is called `file`.part. The copy is checked before it gets its
/// name. Errors: bad_input (`file` is there already), not_found (nothing to copy), storage, busy.
Result<BackupContents> write_backup(const std::string& state_dir, const std::string& file);

struct Restored {
  BackupContents contents;
  std::string put_aside;  ///< Where the former database is now; empty when there was none.
};
/// Puts a backup in the place of the database, which is put aside. Numbers of outages go on from
/// the higher one of both, so that none is used twice. The backup itself is not changed. Errors:
/// busy (an ebbwatchd runs there), not_found, bad_input (no database, or damaged), refused (another
/// program's), newer_version, storage. In all of them nothing is changed.
Result<Restored> restore_backup(const std::string& state_dir, const std::string& file,
                                WallTime now);

}  // namespace ebbwatch
