// Controllers and uplink references as small numbers, so that a row of history is short.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <unordered_map>

#include "core/result.h"
#include "store/database.h"

namespace ebbwatch {

class Names {
 public:
  static Result<Names> prepare(Database& database);
  /// The number of a name, given on first use. @pre inside a transaction.
  Result<std::int64_t> number_of(const std::string& name);
  /// Empty when the name has none yet.
  Result<std::optional<std::int64_t>> find(const std::string& name);
  /// Forgets what was read or given. To be called when a transaction that used number_of failed.
  void forget() { known_.clear(); }

 private:
  Names(Statement find, Statement add);
  Statement find_;
  Statement add_;
  std::unordered_map<std::string, std::int64_t> known_;
};

}  // namespace ebbwatch
