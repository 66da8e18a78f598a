// One watcher per state folder: two that decide on the same rows would tell everything twice.
#pragma once

#include <string>

#include "core/result.h"

namespace ebbwatch {

/// Holds state_dir/ebbwatchd.lock until it ends; the system frees it when the process dies.
class StateLock {
 public:
  /// Errors: busy (another process holds it), storage.
  static Result<StateLock> take(const std::string& state_dir);
  StateLock(StateLock&& other) noexcept;
  StateLock& operator=(StateLock&&) = delete;
  ~StateLock();

 private:
  explicit StateLock(int file) : file_(file) {}
  int file_;  ///< -1 when moved from.
};

}  // namespace ebbwatch
