// Our own datagram socket stands for the service manager; the expected bytes are those of
// sd_notify(3) and sd_watchdog_enabled(3), systemd 252.
#include "reporting/service_state.h"

#include <doctest/doctest.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <cstdlib>
#include <cstring>

#include "support/temporary_folder.h"

namespace ebbwatch {
namespace {

/// Listens at a path, or at an abstract name when it begins with '@'.
class Manager {
 public:
  explicit Manager(const std::string& name)
      : file_(::socket(AF_UNIX, SOCK_DGRAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0)) {
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    std::memcpy(address.sun_path, name.data(), name.size());
    if (name[0] == '@') address.sun_path[0] = '\0';
    const auto size = static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + name.size() +
                                             (name[0] == '@' ? 0U : 1U));
    REQUIRE(::bind(file_, reinterpret_cast<const sockaddr*>(&address), size) == 0);
    ::setenv("NOTIFY_SOCKET", name.c_str(), 1);
  }
  Manager(const Manager&) = delete;
  Manager& operator=(const Manager&) = delete;
  ~Manager() {
    ::close(file_);
    ::unsetenv("NOTIFY_SOCKET");
  }
  /// The next datagram; "-" when there is none.
  std::string heard() {
    char bytes[1024];
    const ssize_t got = ::recv(file_, bytes, sizeof bytes, 0);
    return got < 0 ? "-" : std::string(bytes, static_cast<std::size_t>(got));
  }

 private:
  int file_;
};

struct Watchdog {
  Watchdog(const char* microseconds, const std::string& process) {
    ::setenv("WATCHDOG_USEC", microseconds, 1);
    if (!process.empty()) ::setenv("WATCHDOG_PID", process.c_str(), 1);
  }
  ~Watchdog() {
    ::unsetenv("WATCHDOG_USEC");
    ::unsetenv("WATCHDOG_PID");
  }
};

TEST_CASE("service state: the manager hears ready, reloading, status and stopping") {
  test::TemporaryFolder folder;
  for (const std::string& name :
       {folder.path() + "/notify", "@ebbwatch-test-" + std::to_string(::getpid())}) {
    CAPTURE(name);
    Manager manager(name);
    ServiceState state;
    // The form that systemd-notify --ready --status="Watching 3 tanks" sends.
    state.ready("Watching 3 tanks");
    CHECK(manager.heard() == "READY=1\nSTATUS=Watching 3 tanks");
    state.status("Two tanks\nare lost");
    CHECK(manager.heard() == "STATUS=Two tanks are lost");
    state.reloading();
    CHECK(manager.heard() == "RELOADING=1");
    state.stopping();
    CHECK(manager.heard() == "STOPPING=1");
    CHECK(manager.heard() == "-");
  }
}

TEST_CASE("service state: a status cannot smuggle in a word of its own") {
  test::TemporaryFolder folder;
  Manager manager(folder.path() + "/notify");
  ServiceState state;
  state.ready("a\nSTOPPING=1\r\nb");
  CHECK(manager.heard() == "READY=1\nSTATUS=a STOPPING=1  b");
}

TEST_CASE("service state: signs of life only when the manager wants them of this process") {
  test::TemporaryFolder folder;
  Manager manager(folder.path() + "/notify");
  {
    ServiceState none;
    CHECK(none.watchdog_period().count() == 0);
    none.alive();
    CHECK(manager.heard() == "-");
  }
  for (const std::string& process : {std::string(), std::to_string(::getpid())}) {
    const Watchdog wanted("20000000", process);
    ServiceState state;
    CHECK(state.watchdog_period() == std::chrono::seconds(20));
    state.alive();
    CHECK(manager.heard() == "WATCHDOG=1");
    CHECK(manager.heard() == "-");
  }
  const Watchdog of_another("20000000", std::to_string(::getppid()));
  ServiceState state;
  CHECK(state.watchdog_period().count() == 0);
  state.alive();
  CHECK(manager.heard() == "-");
}

TEST_CASE("service state: a senseless watchdog period is no watchdog") {
  for (const char* text : {"", "never", "-5", "0"}) {
    CAPTURE(text);
    const Watchdog wanted(text, "");
    CHECK(ServiceState().watchdog_period().count() == 0);
  }
}

TEST_CASE("service state: without a manager, or with a dead one, nothing happens") {
  ServiceState state;
  state.ready("Watching");
  state.alive();
  test::TemporaryFolder folder;
  ::setenv("NOTIFY_SOCKET", (folder.path() + "/nobody").c_str(), 1);
  state.ready("Watching");
  state.stopping();
  ::unsetenv("NOTIFY_SOCKET");
  CHECK(state.watchdog_period().count() == 0);
}

}  // namespace
}  // namespace ebbwatch
