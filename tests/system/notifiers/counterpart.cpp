#include "counterpart.h"

#include <arpa/inet.h>
#include <doctest/doctest.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <charconv>
#include <fstream>
#include <sstream>
#include <thread>
#include <utility>

namespace ebbwatch::test {
namespace {

using namespace std::chrono_literals;

sockaddr_in loopback(std::uint16_t port) {
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(port);
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  return address;
}

[[noreturn]] void become(const std::vector<std::string>& command, const std::string& output) {
  prctl(PR_SET_PDEATHSIG, SIGKILL);
  setpgid(0, 0);
  const int file = open(output.c_str(), O_WRONLY | O_CREAT | O_APPEND, 0600);
  dup2(file, STDOUT_FILENO);
  dup2(file, STDERR_FILENO);
  std::vector<char*> arguments;
  for (const auto& argument : command) arguments.push_back(const_cast<char*>(argument.c_str()));
  arguments.push_back(nullptr);
  execv(arguments[0], arguments.data());
  _exit(127);
}

}  // namespace

Counterpart::Counterpart(std::vector<std::string> command, std::string output)
    : output_(std::move(output)) {
  pid_ = fork();
  if (pid_ == 0) become(command, output_);
  REQUIRE_MESSAGE(pid_ > 0, "no process for " << command.front());
}

Counterpart::~Counterpart() {
  stop();
}

void Counterpart::stop() {
  if (pid_ <= 0) return;
  kill(-pid_, SIGTERM);
  const bool ended = holds_within(2s, [&] { return waitpid(pid_, nullptr, WNOHANG) != 0; });
  if (!ended) {
    kill(-pid_, SIGKILL);
    waitpid(pid_, nullptr, 0);
  }
  pid_ = 0;
}

std::string Counterpart::output() const {
  return read_file(output_);
}

std::uint16_t Counterpart::port() const {
  std::uint16_t port = 0;
  const bool listening = holds_within(20s, [&] {
    const std::string said = output();
    constexpr std::string_view word = "listening ";
    const auto at = said.find(word);
    if (at == std::string::npos || said.find('\n', at) == std::string::npos) return false;
    std::from_chars(said.data() + at + word.size(), said.data() + said.size(), port);
    return can_connect(port);
  });
  REQUIRE_MESSAGE(listening, "the counterpart does not listen: " << output());
  return port;
}

std::string counterpart_path(const std::string& name) {
  return std::string(EBBWATCH_SOURCE_DIR) + "/tests/counterparts/" + name;
}

bool holds_within(std::chrono::milliseconds limit, const std::function<bool()>& condition) {
  const auto end = std::chrono::steady_clock::now() + limit;
  while (!condition()) {
    if (std::chrono::steady_clock::now() > end) return false;
    std::this_thread::sleep_for(10ms);
  }
  return true;
}

bool can_connect(std::uint16_t port) {
  const int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  const sockaddr_in address = loopback(port);
  const bool connected =
      connect(fd, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0;
  close(fd);
  return connected;
}

std::uint16_t free_port() {
  const int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in address = loopback(0);
  socklen_t size = sizeof address;
  REQUIRE(bind(fd, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0);
  REQUIRE(getsockname(fd, reinterpret_cast<sockaddr*>(&address), &size) == 0);
  close(fd);
  return ntohs(address.sin_port);
}

std::string read_file(const std::string& path) {
  std::ifstream in(path);
  std::ostringstream out;
  out << in.rdbuf();
  return out.str();
}

void write_file(const std::string& path, std::string_view content, unsigned mode) {
  std::ofstream(path) << content;
  REQUIRE(chmod(path.c_str(), mode) == 0);
}

}  // namespace ebbwatch::test
