// Takes rows over from a database that may be damaged, as far as they can be read: table by table,
// each row by itself, past pages that are broken.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "core/result.h"
#include "core/time.h"

namespace ebbwatch {

struct SalvagedTable {
  std::string name;
  std::int64_t rows = 0;  ///< Taken over.
  bool whole = true;      ///< False: a part could not be read.
};

struct SalvageWish {
  std::vector<std::string> tables{};  ///< Only these; empty: all.
  WallTime check_ins_since{};         ///< Older raw check-ins are left; they are by far the most.
};

/// Adds to the database at `into`, which has today's tables, what can be read at `from`, of
/// whatever version; a row that is there already stays. `from` is not changed, and its write-ahead
/// log is read along. Names of controllers that are not whole leave the raw history out, since its
/// rows could come under wrong names. Errors: of `into` only.
Result<std::vector<SalvagedTable>> salvage(const std::string& from, const std::string& into,
                                           const SalvageWish& wish);

}  // namespace ebbwatch
