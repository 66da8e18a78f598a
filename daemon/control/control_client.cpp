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

// A little longer than the daemon gives itself, so that its own word arrives first.
constexpr timeval answer_time_max{35, 0};

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

Error closed() {
  return {Errc::unavailable, "The daemon closed the connection."};
}

/// Stops quietly when the other side takes no more: it may have said why, and that is read next.
void send_all(int fd, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t sent = ::send(fd, bytes.data(), bytes.size(), MSG_NOSIGNAL);
    if (sent < 0 && errno == EINTR) continue;
    if (sent <= 0) return;
    bytes.remove_prefix(static_cast<std::size_t>(sent));
  }
}

/// Sends the request and hands over each whole line of the answer until `on_line` gives false.
/// Errors: as ask_daemon, and unavailable when the answer ends before that.
Result<void> converse(const std::string& state_dir, const std::string& request,
                      const std::function<bool(std::string)>& on_line) {
  const std::string path = control_socket_path(state_dir);
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  if (path.size() >= sizeof address.sun_path) {
    return Error{Errc::bad_input, "The state folder's path is too long for a socket: " + path};
  }
  std::memcpy(address.sun_path, path.c_str(), path.size() + 1);
  const Descriptor socket(::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0));
  for (const int direction : {SO_RCVTIMEO, SO_SNDTIMEO}) {
    ::setsockopt(socket.get(), SOL_SOCKET, direction, &answer_time_max, sizeof answer_time_max);
  }
  if (::connect(socket.get(), reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0) {
    return connect_error(path, errno);
  }
  send_all(socket.get(), request + "\n");
  std::string received;
  char part[4096];
  for (;;) {
    const ssize_t got = ::recv(socket.get(), part, sizeof part, 0);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0 && (errno == EAGAIN || errno == EWOULDBLOCK)) {
      return Error{Errc::timed_out, "The daemon did not answer within 35 s."};
    }
    if (got <= 0) return closed();
    received.append(part, static_cast<std::size_t>(got));
    for (auto end = received.find('\n'); end != std::string::npos; end = received.find('\n')) {
      if (!on_line(received.substr(0, end))) return {};
      received.erase(0, end + 1);
    }
  }
}

/// {"end":true} with any spaces.
bool is_end(std::string line) {
  std::erase(line, ' ');
  return line == R"({"end":true})";
}

}  // namespace

Result<std::string> ask_daemon(const std::string& state_dir, const std::string& request) {
  std::string answer;
  const auto done = converse(state_dir, request, [&answer](std::string line) {
    answer = std::move(line);
    return false;
  });
  if (!done) return done.error();
  return answer;
}

Result<void> ask_daemon_for_lines(const std::string& state_dir, const std::string& request,
                                  const std::function<void(const std::string&)>& on_line) {
  return converse(state_dir, request, [&on_line](const std::string& line) {
    if (is_end(line)) return false;
    on_line(line);
    // A refusal is one line without an end after it.
    return !line.starts_with(R"({"error")");
  });
}

}  // namespace ebbwatch
