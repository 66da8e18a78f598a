// Read-only addresses of the board, each with a key of its own that is kept as a hash only.
#pragma once

#include <string>
#include <vector>

#include "core/result.h"
#include "core/time.h"

namespace ebbwatch {

struct WallAddressRow {
  std::string name;
  std::string key_hash;  ///< SHA-256 of the key's text, in hex (the key has 256 bits of chance).
  WallTime made_at;
};

class WallAddressStore {
 public:
  virtual ~WallAddressStore() = default;
  virtual Result<std::vector<WallAddressRow>> addresses() = 0;
  /// Replaces the one of this name. @return true when there was one before.
  virtual Result<bool> put(const WallAddressRow& row) = 0;
  /// @return false when there was none.
  virtual Result<bool> remove(const std::string& name) = 0;
};

}  // namespace ebbwatch
