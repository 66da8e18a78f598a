// The board's read-only addresses in the same SQLite file, on a connection of their own, so that
// `ebbwatch wall-address` works in a second process whether or not the daemon runs. Synced at once.
#pragma once

#include <memory>
#include <string>

#include "ports/wall_addresses.h"
#include "store/database.h"
#include "store/open_database.h"

namespace ebbwatch {

/// Errors: newer_version, refused, storage, busy (see open_database).
Result<std::unique_ptr<WallAddressStore>> open_wall_addresses(const std::string& state_dir,
                                                              const DatabaseOptions& options = {});

}  // namespace ebbwatch
