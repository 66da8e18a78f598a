#include "control/control_socket.h"

#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include <boost/asio/as_tuple.hpp>
#include <boost/asio/buffer.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/experimental/awaitable_operators.hpp>
#include <boost/asio/local/stream_protocol.hpp>
#include <boost/asio/read_until.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/asio/write.hpp>
#include <cerrno>
#include <cstring>
#include <set>

#include "core/limits.h"

namespace ebbwatch {
namespace {

namespace asio = boost::asio;
using Socket = asio::local::stream_protocol::socket;
using asio::experimental::awaitable_operators::operator||;
constexpr auto as_values = asio::as_tuple(asio::use_awaitable);
constexpr std::chrono::seconds request_time_max{30};

constexpr const char* unreadable =
    R"({"error": "The request could not be read: it must be one line of JSON."})";
constexpr const char* too_long =
    R"({"error": "The request is too long: at most 64 KiB are taken."})";
constexpr const char* too_many =
    R"({"error": "The daemon is busy with other requests; try again in a moment."})";
constexpr const char* too_slow = R"({"error": "The daemon could not answer within 30 s."})";

/// Without waiting: a fresh or idle socket has room for a line, and one that has none gets no word.
void last_word(Socket& socket, const std::string& line) {
  boost::system::error_code ignored;
  socket.non_blocking(true, ignored);
  if (!ignored) socket.write_some(asio::buffer(line + "\n"), ignored);
}

bool somebody_answers(const std::string& path, asio::any_io_executor executor) {
  Socket probe(std::move(executor));
  boost::system::error_code error;
  probe.connect(asio::local::stream_protocol::endpoint(path), error);
  return !error;
}

}  // namespace

std::string control_socket_path(const std::string& state_dir) {
  return state_dir + "/control.sock";
}

class ControlSocket::Impl : public std::enable_shared_from_this<Impl> {
 public:
  Impl(asio::any_io_executor executor, Handler handler)
      : executor_(executor), acceptor_(std::move(executor)), handler_(std::move(handler)) {}

  Result<void> open(const std::string& state_dir) {
    const std::string path = control_socket_path(state_dir);
    if (path.size() >= sizeof sockaddr_un::sun_path) {
      return Error{Errc::bad_input, "The path " + path +
                                        " is too long for a socket (107 bytes are allowed). Name a "
                                        "shorter state_dir."};
    }
    if (somebody_answers(path, executor_)) {
      return Error{Errc::refused, "Another ebbwatchd answers at " + path + "; stop it first."};
    }
    ::unlink(path.c_str());
    try {
      acceptor_.open();
      acceptor_.bind(asio::local::stream_protocol::endpoint(path));
      acceptor_.listen();
    } catch (const boost::system::system_error& failed) {
      return Error{Errc::storage, "Cannot make the control socket " + path + ": " +
                                      failed.code().message() +
                                      ". Its folder must exist and belong to the daemon's user."};
    }
    path_ = path;
    if (::chmod(path.c_str(), 0660) != 0) {
      return Error{Errc::storage, "Cannot open " + path + " to its group: " + std::strerror(errno)};
    }
    return {};
  }

  static asio::awaitable<void> run(std::shared_ptr<Impl> self) {
    while (self->acceptor_.is_open()) {
      auto [error, socket] = co_await self->acceptor_.async_accept(as_values);
      if (error) {
        if (!self->acceptor_.is_open() || error == asio::error::operation_aborted) co_return;
        // Out of descriptors: a moment's rest instead of a busy loop.
        asio::steady_timer rest(self->executor_, std::chrono::milliseconds(100));
        co_await rest.async_wait(as_values);
        continue;
      }
      if (self->serving_.size() >= limits::control_connections_max) {
        last_word(socket, too_many);
        continue;
      }
      asio::co_spawn(self->executor_, serve(self, std::move(socket)),
                     [](const std::exception_ptr&) {
                       // answer() lets nothing escape but cancellation, which needs no word.
                     });
    }
  }

  void stop() {
    boost::system::error_code ignored;
    acceptor_.close(ignored);
    for (Socket* socket : serving_) socket->close(ignored);
    if (!path_.empty()) ::unlink(path_.c_str());
    path_.clear();
  }

 private:
  static asio::awaitable<void> serve(std::shared_ptr<Impl> self, Socket socket) {
    self->serving_.insert(&socket);
    asio::steady_timer limit(self->executor_, request_time_max);
    const auto first = co_await (self->answer(socket) || limit.async_wait(as_values));
    if (first.index() == 1) last_word(socket, too_slow);
    self->serving_.erase(&socket);
  }

  asio::awaitable<void> answer(Socket& socket) {
    std::string request;
    auto [read_error, length] = co_await asio::async_read_until(
        socket, asio::dynamic_buffer(request, limits::control_request_bytes_max), '\n', as_values);
    if (read_error == asio::error::not_found) co_return last_word(socket, too_long);
    if (read_error) co_return;
    request.resize(length - 1);
    std::string reply;
    try {
      reply = co_await handler_(std::move(request));
    } catch (const std::exception&) {
      reply = unreadable;
    }
    reply += '\n';
    co_await asio::async_write(socket, asio::buffer(reply), as_values);
  }

  asio::any_io_executor executor_;
  asio::local::stream_protocol::acceptor acceptor_;
  Handler handler_;
  std::string path_;
  std::set<Socket*> serving_;  ///< Each lives in its coroutine's frame.
};

ControlSocket::ControlSocket(asio::any_io_executor executor, Handler handler)
    : impl_(std::make_shared<Impl>(std::move(executor), std::move(handler))) {}

ControlSocket::~ControlSocket() {
  impl_->stop();
}

Result<void> ControlSocket::open(const std::string& state_dir) {
  return impl_->open(state_dir);
}

asio::awaitable<void> ControlSocket::run() {
  return Impl::run(impl_);
}

void ControlSocket::stop() {
  impl_->stop();
}

}  // namespace ebbwatch
