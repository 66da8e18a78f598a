// Everything that people entered, as text for other programs.
#pragma once

#include <string>
#include <vector>

#include "core/result.h"

namespace ebbwatch {

/// One group of entries; each is one JSON object, times as RFC 3339 in UTC.
struct EntryGroup {
  std::string name;
  std::vector<std::string> objects{};
};

/// Controllers that have a key, roles that have a password, names of read-only addresses, what is
/// put away, who stands in for whom, acknowledgements, drills, and every line that people added to
/// the record (notes, marks, shelving). No key, password or hash. Read at one moment, beside a
/// daemon. Errors: not_found (nothing recorded yet), storage, busy.
Result<std::vector<EntryGroup>> people_entries(const std::string& state_dir);

}  // namespace ebbwatch
