// The command line's requests to a running daemon over a real Unix socket in a temporary folder.
#include <doctest/doctest.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <cstring>
#include <fstream>
#include <future>
#include <thread>
#include <vector>

#include "control/control_client.h"
#include "control/control_socket.h"
#include "core/limits.h"
#include "support/child.h"
#include "support/temporary_folder.h"

namespace ebbwatch::test {
namespace {

namespace asio = boost::asio;

/// A daemon's control socket on a loop of its own. Answers: "many" with three lines, "throw" by
/// throwing, "hang" never, anything else with itself in an object.
class Daemon {
 public:
  explicit Daemon(const std::string& folder) {
    socket_ = std::make_unique<ControlSocket>(
        io_.get_executor(), [this](std::string request) { return handle(std::move(request)); });
    opened_ = socket_->open(folder);
    if (!opened_.ok()) return;
    asio::co_spawn(io_, socket_->run(), [](const std::exception_ptr& failed) { CHECK(!failed); });
    thread_ = std::thread([this] { io_.run(); });
  }
  ~Daemon() {
    asio::post(io_, [this] {
      socket_->stop();
      work_.reset();
      io_.stop();
    });
    if (thread_.joinable()) thread_.join();
  }
  const Result<void>& opened() const { return opened_; }

 private:
  asio::awaitable<std::string> handle(std::string request) {
    if (request == "throw") throw std::runtime_error("no JSON");
    if (request == "many") co_return "{\"n\":1}\n{\"n\":2}\n{\"end\":true}";
    if (request == "unfinished") co_return "{\"n\":1}\n{\"n\":2}";
    if (request == "hang") {
      asio::steady_timer for_ever(io_, std::chrono::hours(1));
      co_await for_ever.async_wait(asio::use_awaitable);
    }
    co_return "{\"heard\":" + std::to_string(request.size()) + "}";
  }

  asio::io_context io_;
  asio::executor_work_guard<asio::io_context::executor_type> work_{io_.get_executor()};
  std::unique_ptr<ControlSocket> socket_;
  Result<void> opened_;
  std::thread thread_;
};

/// A bare connection, for what the client class never does.
class Connection {
 public:
  explicit Connection(const std::string& folder)
      : file_(::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    std::strncpy(address.sun_path, control_socket_path(folder).c_str(),
                 sizeof address.sun_path - 1);
    connected_ = ::connect(file_, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0;
  }
  Connection(const Connection&) = delete;
  Connection& operator=(const Connection&) = delete;
  ~Connection() { ::close(file_); }
  bool connected() const { return connected_; }
  void send(const std::string& bytes) {
    CHECK(::send(file_, bytes.data(), bytes.size(), MSG_NOSIGNAL) ==
          static_cast<ssize_t>(bytes.size()));
  }
  std::string read_all() {
    std::string bytes;
    char part[512];
    for (ssize_t got = 0; (got = ::recv(file_, part, sizeof part, 0)) > 0;)
      bytes.append(part, static_cast<std::size_t>(got));
    return bytes;
  }

 private:
  int file_;
  bool connected_ = false;
};

TEST_CASE("control: one request gets one answer") {
  TemporaryFolder folder;
  Daemon daemon(folder.path());
  REQUIRE(daemon.opened().ok());
  for (int round = 0; round < 100; ++round) {
    const auto answer = ask_daemon(folder.path(), R"({"command": "status"})");
    REQUIRE_MESSAGE(answer.ok(), answer.error().text);
    CHECK(answer.value() == "{\"heard\":21}");
  }
}

TEST_CASE("control: a request that comes in pieces is one request") {
  TemporaryFolder folder;
  Daemon daemon(folder.path());
  Connection connection(folder.path());
  REQUIRE(connection.connected());
  for (const char* piece : {"ab", "c", "de\n"}) connection.send(piece);
  CHECK(connection.read_all() == "{\"heard\":5}\n");
}

TEST_CASE("control: an answer of many lines ends with its end") {
  TemporaryFolder folder;
  Daemon daemon(folder.path());
  std::string seen;
  const auto visit = [&seen](const std::string& line) { seen += line + ";"; };
  REQUIRE(ask_daemon_for_lines(folder.path(), "many", visit).ok());
  CHECK(seen == "{\"n\":1};{\"n\":2};");
  seen.clear();
  const auto broken = ask_daemon_for_lines(folder.path(), "unfinished", visit);
  REQUIRE_FALSE(broken.ok());
  CHECK(broken.error().code == Errc::unavailable);
  seen.clear();
  REQUIRE(ask_daemon_for_lines(folder.path(), "throw", visit).ok());
  CHECK(seen.find("{\"error\"") == 0);
}

TEST_CASE("control: a handler that throws costs its own request only") {
  TemporaryFolder folder;
  Daemon daemon(folder.path());
  const auto answer = ask_daemon(folder.path(), "throw");
  REQUIRE(answer.ok());
  CHECK(answer.value().find("must be one line of JSON") != std::string::npos);
  CHECK(ask_daemon(folder.path(), "abc").value() == "{\"heard\":3}");
}

TEST_CASE("control: the longest request is taken, a longer one is answered with the limit") {
  TemporaryFolder folder;
  Daemon daemon(folder.path());
  const std::size_t most = limits::control_request_bytes_max - 1;  // With its line end.
  CHECK(ask_daemon(folder.path(), std::string(most, 'x')).value() ==
        "{\"heard\":" + std::to_string(most) + "}");
  for (const std::size_t length : {most + 1, 20 * most}) {
    const auto answer = ask_daemon(folder.path(), std::string(length, 'x'));
    REQUIRE_MESSAGE(answer.ok(), answer.error().text);
    CHECK(answer.value().find("64 KiB") != std::string::npos);
  }
}

TEST_CASE("control: more connections than allowed are told to try again") {
  TemporaryFolder folder;
  Daemon daemon(folder.path());
  std::vector<std::unique_ptr<Connection>> silent;
  for (std::size_t i = 0; i < limits::control_connections_max; ++i) {
    silent.push_back(std::make_unique<Connection>(folder.path()));
    silent.back()->send(i == 0 ? "hang\n" : "half a request");
  }
  const auto refused = ask_daemon(folder.path(), "abc");
  REQUIRE(refused.ok());
  CHECK(refused.value().find("try again") != std::string::npos);
  silent.pop_back();
  // The loop hears of the closed connection before it accepts the next one, or right after.
  std::string answer;
  for (int round = 0; round < 1000 && answer != "{\"heard\":3}"; ++round)
    answer = ask_daemon(folder.path(), "abc").value();
  CHECK(answer == "{\"heard\":3}");
}

TEST_CASE("control: stopping cuts off requests under way and removes the socket") {
  TemporaryFolder folder;
  std::future<Result<std::string>> asked;
  {
    Daemon daemon(folder.path());
    Connection waiting(folder.path());
    waiting.send("half a request");
    CHECK(ask_daemon(folder.path(), "abc").ok());
    asked = std::async(std::launch::async, [&folder] { return ask_daemon(folder.path(), "hang"); });
    CHECK(ask_daemon(folder.path(), "abc").ok());
  }
  const auto answer = asked.get();
  REQUIRE_FALSE(answer.ok());
  CHECK(answer.error().code == Errc::unavailable);
  struct stat found {};
  CHECK(::stat(control_socket_path(folder.path()).c_str(), &found) != 0);
}

TEST_CASE("control: without a daemon the error says so and names the place") {
  TemporaryFolder folder;
  const auto answer = ask_daemon(folder.path(), "{}");
  REQUIRE_FALSE(answer.ok());
  CHECK(answer.error().code == Errc::unavailable);
  CHECK(answer.error().text.find("No ebbwatchd is running") != std::string::npos);
  CHECK(answer.error().text.find(control_socket_path(folder.path())) != std::string::npos);
}

TEST_CASE("control: a path that no socket can have is refused in words") {
  const auto answer = ask_daemon("/tmp/" + std::string(120, 'x'), "{}");
  REQUIRE_FALSE(answer.ok());
  CHECK(answer.error().code == Errc::bad_input);
  CHECK(answer.error().text.find("too long") != std::string::npos);
  boost::asio::io_context io;
  ControlSocket socket(io.get_executor(), {});
  CHECK(socket.open("/tmp/" + std::string(120, 'x')).error().code == Errc::bad_input);
  CHECK(socket.open("/tmp/no-such-folder-of-ebbwatch").error().code == Errc::storage);
}

TEST_CASE("control: the socket is open to user and group only, and others are told why not") {
  TemporaryFolder folder;
  Daemon daemon(folder.path());
  struct stat found {};
  REQUIRE(::stat(control_socket_path(folder.path()).c_str(), &found) == 0);
  CHECK((found.st_mode & 07777U) == 0660);
  if (::geteuid() != 0) return;  // Becoming somebody else needs root.
  CHECK(::chmod(folder.path().c_str(), 0755) == 0);
  CHECK(in_child([&folder] {
          if (::setgid(65534) != 0 || ::setuid(65534) != 0) return 1;
          const auto answer = ask_daemon(folder.path(), "{}");
          if (answer.ok() || answer.error().code != Errc::refused) return 2;
          return answer.error().text.find("No permission") == std::string::npos ? 3 : 0;
        }) == 0);
}

TEST_CASE("control: a socket left by a killed daemon is replaced, a living daemon's is not") {
  TemporaryFolder folder;
  {
    const Connection none(folder.path());
    CHECK_FALSE(none.connected());
    // A bound socket that nobody listens to is what a killed process leaves.
    const int left = ::socket(AF_UNIX, SOCK_STREAM, 0);
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    std::strncpy(address.sun_path, control_socket_path(folder.path()).c_str(),
                 sizeof address.sun_path - 1);
    REQUIRE(::bind(left, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0);
    ::close(left);
  }
  CHECK(ask_daemon(folder.path(), "{}").error().code == Errc::unavailable);
  Daemon first(folder.path());
  REQUIRE_MESSAGE(first.opened().ok(), first.opened().error().text);
  Daemon second(folder.path());
  REQUIRE_FALSE(second.opened().ok());
  CHECK(second.opened().error().code == Errc::refused);
  CHECK(ask_daemon(folder.path(), "abc").value() == "{\"heard\":3}");
}

}  // namespace
}  // namespace ebbwatch::test
