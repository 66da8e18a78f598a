// A damaged database never keeps a watcher from watching: it is put aside, what can be read of it
// is taken over into a fresh one, and a note beside it says what that was.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/result.h"
#include "core/time.h"
#include "store/salvage.h"

namespace ebbwatch {

struct Repair {
  std::string why;        ///< What is wrong with the file.
  std::string put_aside;  ///< Where it is now.
  std::vector<SalvagedTable> tables{};
  bool from_kept_copy = false;  ///< Keys or passwords had to be taken from the copy of the start.
};
/// For the log: one paragraph with what to do.
std::string repair_text(const Repair& repair);

/// To be called before the daemon opens its store. Looks through the database (all of it up to 64
/// MiB; above that all but the raw history, whose pages only cost what lies on them). Empty: it is
/// sound, or not there, or not to be judged here (another program's, of a later version, locked):
/// opening says so. Errors: busy (another ebbwatchd runs), storage (no room for the fresh one).
Result<std::optional<Repair>> repair_if_damaged(const std::string& state_dir, WallTime now);

/// What is wrong with the database at `path`; empty when it is sound. Changes nothing.
/// @param all also the raw history, whatever its size.
std::string damage_of(const std::string& path, bool all);

/// One sentence for each damaged database that still lies in the state folder; they go away with
/// the files.
std::vector<std::string> set_aside_remarks(const std::string& state_dir);

/// A small second copy of keys, passwords, addresses and numbers in a file beside the database, for
/// the case that their pages are the damaged ones. Best effort; the old copy stays on a failure.
Result<void> keep_copy(const std::string& state_dir);

}  // namespace ebbwatch
