#include "store/state_lock.h"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <utility>

#include "store/open_database.h"

namespace ebbwatch {

Result<StateLock> StateLock::take(const std::string& state_dir) {
  const std::string path = state_dir + "/ebbwatchd.lock";
  const auto made = make_private_file(path);
  if (!made) return made.error();
  const int file = ::open(path.c_str(), O_RDWR | O_CLOEXEC);
  if (file < 0)
    return Error{Errc::storage, "The file " + path + " cannot be opened (" + std::strerror(errno) +
                                    "). Check its owner."};
  StateLock lock(file);
  if (::flock(file, LOCK_EX | LOCK_NB) == 0) return lock;
  if (errno == EWOULDBLOCK)
    return Error{Errc::busy, "Another ebbwatchd already works with " + state_dir +
                                 ". Stop it first, or give this one a state_dir of its own."};
  return Error{Errc::storage, "The file " + path + " cannot be locked (" + std::strerror(errno) +
                                  "). Put state_dir on a local disk."};
}

StateLock::StateLock(StateLock&& other) noexcept : file_(std::exchange(other.file_, -1)) {}

StateLock::~StateLock() {
  if (file_ >= 0) ::close(file_);
}

}  // namespace ebbwatch
