// Names of the files beside the database, and how one takes another's place. Nothing that was
// stored is ever deleted here: what gives way is put aside under a name with the time.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "core/result.h"
#include "core/time.h"

namespace ebbwatch {

/// Why a database was put aside, as a part of its new name.
inline constexpr std::string_view aside_damaged = "damaged", aside_replaced = "replaced";

/// `fresh` takes the place of `path`. What was there, with its write-ahead log, goes to
/// path.WHY-20261126T153000Z (and -wal, -shm), which is returned; empty when nothing was there.
/// A crash in between leaves `path` in place. Errors: storage.
Result<std::string> put_in_place(const std::string& fresh, const std::string& path,
                                 std::string_view why, WallTime now);

/// Databases that were put aside for damage and still lie beside `path`, oldest first.
std::vector<std::string> damaged_files(const std::string& path);

/// Makes what was written to the file outlive a power cut, with its entry in the folder.
Result<void> sync_file(const std::string& path);
/// Removes a database that nobody needs (an unfinished copy), with its write-ahead log.
void remove_database(const std::string& path);

}  // namespace ebbwatch
