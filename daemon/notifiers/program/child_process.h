// One program that was started and must end, with everything it leaves behind. Linux only (pidfd).
#pragma once

#include <sys/types.h>

#include <optional>
#include <string>
#include <vector>

#include "core/result.h"

namespace ebbwatch {

/// A file descriptor with an owner.
class OwnedDescriptor {
 public:
  explicit OwnedDescriptor(int fd = -1) : fd_(fd) {}
  OwnedDescriptor(OwnedDescriptor&& other) noexcept : fd_(other.release()) {}
  OwnedDescriptor& operator=(OwnedDescriptor&& other) noexcept;
  ~OwnedDescriptor();
  int get() const { return fd_; }
  int release();

 private:
  int fd_;
};

/// How a program ended: one of the two.
struct ProgramEnd {
  std::optional<int> exit_status;
  std::optional<int> signal;
};

/// A child in a process group of its own. Destroying it before it was reaped kills the whole group
/// and waits for the kernel to do so (microseconds), so that no zombie is left.
class ChildProcess {
 public:
  /// Starts `command` in the folder "/" with exactly this environment, `input` on standard input (a
  /// file in memory: it may be left unread), both outputs in one pipe, default signal handling and
  /// no other descriptor. @pre command is not empty and command[0] is a path.
  /// Errors: not_found and refused (cannot be run as configured), busy (no processes or descriptors
  /// left: try again).
  static Result<ChildProcess> start(const std::vector<std::string>& command,
                                    const std::vector<std::string>& environment,
                                    const std::string& input);
  ChildProcess(ChildProcess&& other) noexcept;
  ChildProcess& operator=(ChildProcess&&) = delete;
  ~ChildProcess();

  /// Descriptors for the caller to wait on, each handed out once: readable when the program has
  /// ended; readable when it has written.
  OwnedDescriptor take_end_descriptor() { return std::move(end_); }
  OwnedDescriptor take_output() { return std::move(output_); }

  /// To every process of the group. @pre not reaped: until then the number is not used again.
  void signal_group(int signal) const;
  /// Empty while it runs. Afterwards the program is gone from the process table.
  std::optional<ProgramEnd> reap();

 private:
  ChildProcess(pid_t pid, OwnedDescriptor end, OwnedDescriptor output)
      : pid_(pid), end_(std::move(end)), output_(std::move(output)) {}
  pid_t pid_;  ///< 0: reaped or moved away.
  OwnedDescriptor end_, output_;
};

}  // namespace ebbwatch
