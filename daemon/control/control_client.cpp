#include "control/control_client.h"

#include <sys/socket.h>
#include <sys/time.h>
#include <sys/un.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "control/control_socket.h"

namespace ebbwatch {
namespace {

constexpr timeval answer_time_max{30, 0};

class Descriptor {
 public:
  explicit Descriptor(int fd) : fd_(fd) {}
  ~Descriptor() {
    if (fd_ >= 0) ::close(fd_);
  }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  int get() const { return fd_; }

 private:
  int fd_;
};

Error connect_error(const std::string& path, int reason) {
  if (reason == EACCES || reason == EPERM) {
    return {Errc::refused, "No permission to talk to the daemon at " + path +
                               ". Use the daemon's user, root, or join the group ebbwatch."};
  }
  return {Errc::unavailable, "No ebbwatchd is running with this configuration (nobody answers at " +
                                 path + ": " + std::strerror(reason) + ")."};
}

Result<void> send_all(int fd, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t sent = ::send(fd, bytes.data(), bytes.size(), MSG_NOSIGNAL);
    if (sent < 0 && errno == EINTR) continue;
    if (sent <= 0) return Error{Errc::unavailable, "The daemon closed the connection."};
    bytes.remove_prefix(static_cast<std::size_t>(sent));
  }
  return {};
}

}  // namespace

Result<std::string> ask_daemon(const std::string& state_dir, const std::string& request) {
  const std::string path = control_socket_path(state_dir);
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  if (path.size() >= sizeof address.sun_path) {
    return Error{Errc::bad_input, "The state folder's path is too long for a socket: " + path};
  }
  std::memcpy(address.sun_path, path.c_str(), path.size() + 1);
  const Descriptor socket(::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0));
  ::setsockopt(socket.get(), SOL_SOCKET, SO_RCVTIMEO, &answer_time_max, sizeof answer_time_max);
  if (::connect(socket.get(), reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0) {
    return connect_error(path, errno);
  }
  if (const auto sent = send_all(socket.get(), request + "\n"); !sent) return sent.error();
  std::string answer;
  char part[4096];
  while (answer.empty() || answer.back() != '\n') {
    const ssize_t got = ::recv(socket.get(), part, sizeof part, 0);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return Error{Errc::timed_out, "The daemon did not answer within 30 s."};
    if (got == 0) return Error{Errc::unavailable, "The daemon closed the connection."};
    answer.append(part, static_cast<std::size_t>(got));
  }
  answer.pop_back();
  return answer;
}

}  // namespace ebbwatch
