// Work in a second process, for tests of what several processes, other users or a kill may do.
#pragma once

#include <sys/types.h>
#include <sys/wait.h>
#include <unistd.h>

#include <functional>

namespace ebbwatch::test {

/// Starts `work` in a forked process that ends with its return value, without any clean-up.
/// @return the process; -1 when it could not be made.
inline ::pid_t start_child(const std::function<int()>& work) {
  const ::pid_t child = ::fork();
  if (child == 0) ::_exit(work());
  return child;
}

/// @return the exit status, or -1 when it was ended by a signal or could not be made.
inline int wait_for(::pid_t child) {
  int status = 0;
  if (child < 0 || ::waitpid(child, &status, 0) != child) return -1;
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

inline int in_child(const std::function<int()>& work) {
  return wait_for(start_child(work));
}

}  // namespace ebbwatch::test
