// A listener on loopback in a thread of its own, and a plain blocking client with bounded waits.
#pragma once

#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <atomic>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <cstring>
#include <future>
#include <memory>
#include <stdexcept>
#include <string>
#include <thread>

#include "fakes.h"
#include "ingest/http_listener.h"

namespace ebbwatch::test {

/// Says what it was asked, in the body. `/wait` answers when released, `/throw` throws.
class EchoHandler final : public RequestHandler {
 public:
  boost::asio::awaitable<HttpResponse> handle(HttpRequest request) override {
    asked.fetch_add(1);
    if (request.path == "/throw") throw std::runtime_error("a failure of the handler");
    if (request.path == "/wait") {
      boost::asio::steady_timer timer(co_await boost::asio::this_coro::executor);
      while (!released.load()) {
        timer.expires_after(std::chrono::milliseconds(5));
        co_await timer.async_wait(boost::asio::use_awaitable);
      }
    }
    HttpResponse out;
    out.status = 200;
    out.content_type = "text/plain";
    out.body = request.method + " " + request.path + " ?" + request.query + " " + request.body +
               " from " + request.remote_address;
    co_return out;
  }
  std::atomic<int> asked = 0;
  std::atomic<bool> released = false;
};

class Server {
 public:
  explicit Server(HttpLimits limits = {}, const std::string& address = "127.0.0.1",
                  RequestHandler* handler = nullptr)
      : listener_(context_.get_executor(), handler != nullptr ? *handler : echo, clock, limits) {
    const auto opened = listener_.open(address, 0);
    if (!opened) throw std::runtime_error(opened.error().text);
    port = opened.value();
    boost::asio::co_spawn(
        context_,
        [this]() -> boost::asio::awaitable<void> {
          co_await listener_.run();
          ended_.set_value();
        },
        [](const std::exception_ptr& failure) {
          if (failure) std::rethrow_exception(failure);
        });
    thread_ = std::thread([this] { context_.run(); });
  }
  ~Server() {
    stop();
    thread_.join();
  }
  void stop() {
    boost::asio::post(context_, [this] { listener_.stop(); });
  }
  /// Whether run() has ended within the time.
  bool ends_within(std::chrono::milliseconds time) {
    return ended_future_.wait_for(time) == std::future_status::ready;
  }
  HttpCounters counters() {
    std::promise<HttpCounters> promise;
    boost::asio::post(context_, [&] { promise.set_value(listener_.counters()); });
    return promise.get_future().get();
  }
  /// Asks until the counters are as wanted, for at most 10 s.
  bool comes_true(const std::function<bool(const HttpCounters&)>& wanted) {
    const auto end = std::chrono::steady_clock::now() + std::chrono::seconds(10);
    while (!wanted(counters())) {
      if (std::chrono::steady_clock::now() > end) return false;
      std::this_thread::yield();
    }
    return true;
  }

  FakeClock clock;
  EchoHandler echo;
  std::uint16_t port = 0;

 private:
  boost::asio::io_context context_{1};
  HttpListener listener_;
  std::promise<void> ended_;
  std::future<void> ended_future_ = ended_.get_future();
  std::thread thread_;
};

class Client {
 public:
  /// @param to, from IPv4 or IPv6 loopback addresses; an empty `from` leaves it to the system.
  explicit Client(std::uint16_t port, const std::string& to = "127.0.0.1",
                  const std::string& from = "") {
    const bool v6 = to.find(':') != std::string::npos;
    socket_ = ::socket(v6 ? AF_INET6 : AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    const timeval wait{10, 0};
    ::setsockopt(socket_, SOL_SOCKET, SO_RCVTIMEO, &wait, sizeof wait);
    ::setsockopt(socket_, SOL_SOCKET, SO_SNDTIMEO, &wait, sizeof wait);
    if (v6) {
      sockaddr_in6 at{};
      at.sin6_family = AF_INET6;
      at.sin6_port = htons(port);
      ::inet_pton(AF_INET6, to.c_str(), &at.sin6_addr);
      connected_ = ::connect(socket_, reinterpret_cast<sockaddr*>(&at), sizeof at) == 0;
      return;
    }
    sockaddr_in at{};
    at.sin_family = AF_INET;
    if (!from.empty()) {
      ::inet_pton(AF_INET, from.c_str(), &at.sin_addr);
      if (::bind(socket_, reinterpret_cast<sockaddr*>(&at), sizeof at) != 0) return;
    }
    at.sin_port = htons(port);
    ::inet_pton(AF_INET, to.c_str(), &at.sin_addr);
    connected_ = ::connect(socket_, reinterpret_cast<sockaddr*>(&at), sizeof at) == 0;
  }
  ~Client() {
    if (socket_ >= 0) ::close(socket_);
  }
  Client(const Client&) = delete;
  Client& operator=(const Client&) = delete;

  bool connected() const { return connected_; }
  /// @return false when the other side has closed.
  bool send(const std::string& text) {
    std::size_t sent = 0;
    while (sent < text.size()) {
      const auto n = ::send(socket_, text.data() + sent, text.size() - sent, MSG_NOSIGNAL);
      if (n <= 0) return false;
      sent += static_cast<std::size_t>(n);
    }
    return true;
  }
  void close_sending() { ::shutdown(socket_, SHUT_WR); }
  /// Everything until the other side closes; ends with "[no end]" when it does not within 10 s.
  std::string rest() {
    while (more()) {
    }
    return std::exchange(held_, {}) + (closed_ ? "" : "[no end]");
  }
  /// One answer, told apart by its Content-Length.
  std::string answer() {
    std::size_t end = std::string::npos;
    while ((end = held_.find("\r\n\r\n")) == std::string::npos && more()) {
    }
    if (end == std::string::npos) return "[none] " + std::exchange(held_, {});
    std::size_t size = end + 4;
    const auto at = held_.find("Content-Length: ");
    if (at < end) size += std::stoul(held_.substr(at + 16));
    while (held_.size() < size && more()) {
    }
    std::string out = held_.substr(0, size);
    held_.erase(0, size);
    return out;
  }

 private:
  bool more() {
    char bytes[4096];
    const auto n = ::recv(socket_, bytes, sizeof bytes, 0);
    if (n > 0) held_.append(bytes, static_cast<std::size_t>(n));
    // A reset is an end, too; a time-out is not.
    if (n == 0 || (n < 0 && errno == ECONNRESET)) closed_ = true;
    return n > 0;
  }

  int socket_ = -1;
  bool connected_ = false;
  bool closed_ = false;
  std::string held_;
};

}  // namespace ebbwatch::test
