#include "notifiers/program/child_process.h"

#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <sys/mman.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <utility>

#include "core/invariant.h"

namespace ebbwatch {
namespace {

std::vector<char*> pointers(const std::vector<std::string>& texts) {
  std::vector<char*> out;
  for (const std::string& text : texts) out.push_back(const_cast<char*>(text.c_str()));
  out.push_back(nullptr);
  return out;
}

Error system_error(Errc code, const std::string& what, int number) {
  return Error{code, what + ": " + std::strerror(number)};
}

// How the child differs from us, in the form that posix_spawn wants.
class SpawnPlan {
 public:
  SpawnPlan(int input, int output) {
    posix_spawn_file_actions_init(&actions_);
    posix_spawnattr_init(&attributes_);
    posix_spawn_file_actions_adddup2(&actions_, input, STDIN_FILENO);
    posix_spawn_file_actions_adddup2(&actions_, output, STDOUT_FILENO);
    posix_spawn_file_actions_adddup2(&actions_, output, STDERR_FILENO);
    posix_spawn_file_actions_addclosefrom_np(&actions_, STDERR_FILENO + 1);
    posix_spawn_file_actions_addchdir_np(&actions_, "/");
    sigset_t none, all;
    sigemptyset(&none);
    sigfillset(&all);
    posix_spawnattr_setsigmask(&attributes_, &none);
    posix_spawnattr_setsigdefault(&attributes_, &all);
    posix_spawnattr_setpgroup(&attributes_, 0);
    posix_spawnattr_setflags(
        &attributes_, POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF);
  }
  ~SpawnPlan() {
    posix_spawn_file_actions_destroy(&actions_);
    posix_spawnattr_destroy(&attributes_);
  }
  SpawnPlan(const SpawnPlan&) = delete;
  SpawnPlan& operator=(const SpawnPlan&) = delete;
  int spawn(pid_t& pid, const std::vector<std::string>& command,
            const std::vector<std::string>& environment) const {
    return posix_spawn(&pid, command.front().c_str(), &actions_, &attributes_,
                       pointers(command).data(), pointers(environment).data());
  }

 private:
  posix_spawn_file_actions_t actions_;
  posix_spawnattr_t attributes_;
};

// A file in memory needs nobody who writes while the program reads, and cannot raise SIGPIPE.
OwnedDescriptor memory_file(const std::string& content) {
  OwnedDescriptor file(memfd_create("notice", MFD_CLOEXEC));
  if (file.get() < 0) return file;
  const auto size = static_cast<ssize_t>(content.size());
  const bool written = write(file.get(), content.data(), content.size()) == size;
  if (!written || lseek(file.get(), 0, SEEK_SET) != 0) return OwnedDescriptor();
  return file;
}

Error spawn_error(const std::string& program, int number) {
  if (number == EAGAIN || number == ENOMEM || number == EMFILE || number == ENFILE) {
    return system_error(Errc::busy, program, number);
  }
  if (number == ENOENT || number == ENOTDIR) return system_error(Errc::not_found, program, number);
  return system_error(Errc::refused, program, number);
}

// Not through <sys/pidfd.h>: that of Debian 12 (glibc 2.36) cannot be linked from C++.
OwnedDescriptor open_pidfd(pid_t pid) {
  return OwnedDescriptor(static_cast<int>(syscall(SYS_pidfd_open, pid, 0U)));
}

void reap_killed(pid_t pid) {
  while (waitpid(pid, nullptr, 0) < 0 && errno == EINTR) {
  }
}

}  // namespace

OwnedDescriptor& OwnedDescriptor::operator=(OwnedDescriptor&& other) noexcept {
  if (this != &other && fd_ >= 0) close(fd_);
  if (this != &other) fd_ = other.release();
  return *this;
}

OwnedDescriptor::~OwnedDescriptor() {
  if (fd_ >= 0) close(fd_);
}

int OwnedDescriptor::release() {
  return std::exchange(fd_, -1);
}

Result<ChildProcess> ChildProcess::start(const std::vector<std::string>& command,
                                         const std::vector<std::string>& environment,
                                         const std::string& input) {
  INVARIANT(!command.empty() && command.front().find('/') != std::string::npos);
  const OwnedDescriptor input_file = memory_file(input);
  int ends[2] = {-1, -1};
  if (input_file.get() < 0 || pipe2(ends, O_CLOEXEC) != 0) {
    return system_error(Errc::busy, "no descriptor for " + command.front(), errno);
  }
  OwnedDescriptor output(ends[0]);
  const OwnedDescriptor writing(ends[1]);
  pid_t pid = 0;
  const int failure = SpawnPlan(input_file.get(), writing.get()).spawn(pid, command, environment);
  if (failure != 0) return spawn_error(command.front(), failure);
  OwnedDescriptor end = open_pidfd(pid);
  if (end.get() < 0) {
    const int number = errno;
    kill(-pid, SIGKILL);
    reap_killed(pid);
    return system_error(Errc::busy, "no descriptor for " + command.front(), number);
  }
  return ChildProcess(pid, std::move(end), std::move(output));
}

ChildProcess::ChildProcess(ChildProcess&& other) noexcept
    : pid_(std::exchange(other.pid_, 0)),
      end_(std::move(other.end_)),
      output_(std::move(other.output_)) {}

ChildProcess::~ChildProcess() {
  if (pid_ == 0) return;
  signal_group(SIGKILL);
  reap_killed(pid_);
}

void ChildProcess::signal_group(int signal) const {
  INVARIANT(pid_ > 0);
  kill(-pid_, signal);
}

std::optional<ProgramEnd> ChildProcess::reap() {
  INVARIANT(pid_ > 0);
  int status = 0;
  if (waitpid(pid_, &status, WNOHANG) != pid_) return std::nullopt;
  pid_ = 0;
  if (WIFSIGNALED(status)) return ProgramEnd{std::nullopt, WTERMSIG(status)};
  return ProgramEnd{WEXITSTATUS(status), std::nullopt};
}

}  // namespace ebbwatch
