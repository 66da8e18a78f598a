// A SQLite file layer over the operating system's that fails where it is told to, and that can play
// a power cut. Every read, write, sync, truncation, lock, shared-memory call, opening and removal
// is one operation of the FaultPlan, if the kind of fault can happen to it.
#pragma once

#include <map>
#include <memory>
#include <string>

#include "support/fault_plan.h"

namespace ebbwatch::test {

class FaultyVfs {
 public:
  enum class Fault {
    io_error,   ///< Any operation fails with its I/O error; of a write, the first half is done.
    disk_full,  ///< Writes fail; nothing of them is done.
    locked,     ///< Locks are held by somebody else.
    read_only,  ///< Files cannot be made, and writes are refused.
  };

  FaultyVfs();
  FaultyVfs(const FaultyVfs&) = delete;
  FaultyVfs& operator=(const FaultyVfs&) = delete;
  ~FaultyVfs();

  /// For DatabaseOptions::vfs.
  const std::string& name() const { return name_; }
  FaultPlan faults;
  Fault fault = Fault::io_error;

  /// From now on remembers what each file holds after each sync.
  void remember_synced() { remembers_ = true; }
  /// Power is gone: nothing reaches a file any more and every operation that would fails.
  void cut_power() { dead_ = true; }
  /// Power is back: every file holds what it held after its last sync, no more.
  /// @pre every connection through this layer is closed.
  void restore_power();

  class Calls;

 private:
  struct Registration;
  std::string name_;
  std::unique_ptr<Registration> registration_;
  bool remembers_ = false;
  bool dead_ = false;
  std::map<std::string, std::string> synced_;  ///< Path to bytes.
};

}  // namespace ebbwatch::test
