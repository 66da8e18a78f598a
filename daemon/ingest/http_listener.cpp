#include "ingest/http_listener.h"

#include <array>
#include <boost/asio/as_tuple.hpp>
#include <boost/asio/bind_cancellation_slot.hpp>
#include <boost/asio/cancellation_signal.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/asio/write.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/http.hpp>
#include <chrono>
#include <list>
#include <unordered_map>
#include <utility>

#include "ingest/acceptor.h"
#include "ingest/body_stream.h"
#include "ingest/connection_table.h"
#include "ingest/problem.h"

namespace ebbwatch {
namespace {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = beast::http;
using asio::ip::tcp;
using beast::error_code;

constexpr auto as_result = asio::as_tuple(asio::use_awaitable);
constexpr std::size_t read_bytes = 4096;
constexpr std::size_t linger_bytes_max = 1024 * 1024;
constexpr auto accept_pause = std::chrono::milliseconds(100);
constexpr std::string_view no_room =
    "HTTP/1.1 503 Service Unavailable\r\nRetry-After: 10\r\nContent-Length: 0\r\n"
    "Connection: close\r\n\r\n";

std::chrono::microseconds duration(Span span) {
  return std::chrono::microseconds(span.us);
}

using Parser = http::request_parser<http::string_body>;
using Head = http::request<http::string_body>;

HttpRequest plain_request(Head&& head, const std::string& remote_address) {
  HttpRequest out;
  out.method = head.method_string();
  set_target(out, std::string_view(head.target()));
  for (const auto& field : head) {
    out.fields.emplace_back(lower_case(field.name_string()), field.value());
  }
  out.body = std::move(head.body());
  out.remote_address = remote_address;
  return out;
}

/// What the parser lets through but RFC 9112 wants refused. Two readings of one message's length
/// are how requests are smuggled past a proxy.
std::optional<HttpResponse> objection(const Head& head) {
  if (head.version() != 10 && head.version() != 11) {
    return problem(505, "Only HTTP/1.1 and HTTP/1.0 are spoken here.");
  }
  const auto encodings = head.count(http::field::transfer_encoding);
  if (encodings > 0 && head.count(http::field::content_length) > 0) {
    return problem(400, "The request has both Content-Length and Transfer-Encoding. Send one.");
  }
  if (encodings > 1 || (encodings == 1 && !head.chunked())) {
    return problem(400, "Transfer-Encoding must be chunked, or left out.");
  }
  const auto hosts = head.count(http::field::host);
  if (hosts > 1 || (hosts == 0 && head.version() == 11)) {
    return problem(400, "The request must have exactly one Host field.");
  }
  return std::nullopt;
}

}  // namespace

class HttpListener::Impl : public std::enable_shared_from_this<HttpListener::Impl> {
 public:
  Impl(asio::any_io_executor executor, RequestHandler& handler, const Clock& clock,
       const HttpLimits& limits)
      : executor_(std::move(executor)),
        handler_(handler),
        clock_(clock),
        limits_(limits),
        table_(limits.connections_max, limits.connections_per_address_max),
        changed_(executor_) {
    changed_.expires_at(asio::steady_timer::time_point::max());
  }

  Result<std::uint16_t> open(const std::string& address, std::uint16_t port);
  asio::awaitable<void> run();
  void stop();
  HttpCounters counters() const {
    auto out = counters_;
    out.open = connections_.size();
    return out;
  }

 private:
  using Id = ConnectionTable::Id;

  /// One connection. Its timer enforces whichever limit was set last.
  struct Connection {
    Connection(Id own_id, tcp::socket own_socket, std::string own_address, std::size_t most)
        : id(own_id),
          socket(std::move(own_socket)),
          timer(socket.get_executor()),
          address(std::move(own_address)),
          buffer(most) {}
    Id id;
    tcp::socket socket;
    asio::steady_timer timer;
    asio::cancellation_signal cancel;
    std::string address;
    beast::flat_buffer buffer;
    std::uint64_t limit_number = 0;
    bool too_slow = false;
    bool served_before = false;
  };
  using ConnectionPtr = std::shared_ptr<Connection>;

  asio::awaitable<void> accept_all(tcp::acceptor& acceptor);
  void welcome(tcp::socket socket);
  void turn_away(tcp::socket& socket);
  void close(Id id);
  void close_all();
  void ended(Id id, const std::exception_ptr& failure);

  static void set_limit(const ConnectionPtr& to, Span limit);
  static void end_limit(Connection& of);
  asio::awaitable<void> serve(ConnectionPtr with);
  asio::awaitable<bool> first_bytes(ConnectionPtr with);
  asio::awaitable<bool> one_request(ConnectionPtr with);
  asio::awaitable<error_code> go_ahead(ConnectionPtr with, const Head& head);
  asio::awaitable<HttpResponse> ask_handler(HttpRequest request);
  asio::awaitable<bool> send(ConnectionPtr with, HttpResponse answer, bool is_head, bool keep);
  asio::awaitable<bool> send_stream(ConnectionPtr with, HttpResponse answer);
  void head_of(http::response_header<>& head, const HttpResponse& answer) const;
  static asio::awaitable<void> linger(ConnectionPtr with, Span limit);
  std::optional<HttpResponse> complaint(const Connection& with, error_code error);
  HttpResponse counted(std::uint64_t& counter, HttpResponse answer) { return ++counter, answer; }

  asio::any_io_executor executor_;
  RequestHandler& handler_;
  const Clock& clock_;
  HttpLimits limits_;
  ConnectionTable table_;
  HttpCounters counters_;
  std::list<tcp::acceptor> acceptors_;
  std::unordered_map<Id, ConnectionPtr> connections_;
  asio::steady_timer changed_;  ///< Never fires; cancelled when run() must look again.
  Id next_id_ = 1;
  std::size_t accepting_ = 0;
  bool stopping_ = false;
};

Result<std::uint16_t> HttpListener::Impl::open(const std::string& address, std::uint16_t port) {
  auto acceptor = open_acceptor(executor_, address, port);
  if (!acceptor) return acceptor.error();
  acceptors_.push_back(std::move(acceptor.value()));
  error_code ignored;
  return acceptors_.back().local_endpoint(ignored).port();
}

asio::awaitable<void> HttpListener::Impl::run() {
  const auto self = shared_from_this();
  co_await asio::this_coro::throw_if_cancelled(false);
  for (auto& acceptor : acceptors_) {
    ++accepting_;
    asio::co_spawn(executor_, accept_all(acceptor), [self](const std::exception_ptr&) {
      --self->accepting_;
      self->changed_.cancel();
    });
  }
  while (!stopping_) {
    (void)co_await changed_.async_wait(as_result);  // Only ever cancelled; that is the news.
    const auto state = co_await asio::this_coro::cancellation_state;
    if (state.cancelled() == asio::cancellation_type::none) continue;
    stop();
    close_all();
  }
  // From here on a second cancellation must not keep us from waiting for our own connections.
  co_await asio::this_coro::reset_cancellation_state(asio::disable_cancellation());
  asio::steady_timer patience(executor_, duration(limits_.stop_time_max));
  patience.async_wait([self](error_code error) {
    if (!error) self->close_all();
  });
  while (accepting_ > 0 || !connections_.empty()) (void)co_await changed_.async_wait(as_result);
  patience.cancel();
}

void HttpListener::Impl::stop() {
  if (stopping_) return;
  stopping_ = true;
  for (auto& acceptor : acceptors_) {
    error_code ignored;
    (void)acceptor.close(ignored);
  }
  const auto quiet = table_.quiet_ones();  // A copy: closing changes the list.
  for (const auto id : quiet) close(id);
  changed_.cancel();
}

asio::awaitable<void> HttpListener::Impl::accept_all(tcp::acceptor& acceptor) {
  const auto self = shared_from_this();
  while (!stopping_) {
    auto [error, socket] = co_await acceptor.async_accept(as_result);
    if (stopping_) break;
    if (!error) {
      welcome(std::move(socket));
      continue;
    }
    // Mostly "too many open files": at once would only spin, and the queue of the system waits.
    ++counters_.accept_failed;
    asio::steady_timer pause(executor_, accept_pause);
    (void)co_await pause.async_wait(as_result);
  }
}

void HttpListener::Impl::welcome(tcp::socket socket) {
  error_code error;
  const auto from = socket.remote_endpoint(error);
  if (error) return;  // Gone already.
  (void)socket.set_option(tcp::no_delay(true), error);
  const std::string address = plain_address(from.address());
  const auto place = table_.place_for(address_group(address));
  if (!place.admitted) return turn_away(socket);
  if (place.make_room) {
    ++counters_.made_room;
    close(*place.make_room);
  }
  ++counters_.connections;
  const auto with = std::make_shared<Connection>(next_id_++, std::move(socket), address,
                                                 limits_.header_bytes_max * 2 + read_bytes);
  table_.add(with->id, address_group(address));
  connections_.emplace(with->id, with);
  asio::co_spawn(
      executor_, serve(with),
      asio::bind_cancellation_slot(with->cancel.slot(), [self = shared_from_this(),
                                                         with](const std::exception_ptr& failure) {
        self->ended(with->id, failure);
      }));
}

void HttpListener::Impl::turn_away(tcp::socket& socket) {
  ++counters_.turned_away;
  error_code ignored;
  (void)socket.non_blocking(true, ignored);
  (void)socket.write_some(asio::buffer(no_room), ignored);
}

/// Ends a connection from outside its coroutine, which then runs to its end by itself.
void HttpListener::Impl::close(Id id) {
  table_.remove(id);
  const auto found = connections_.find(id);
  if (found == connections_.end()) return;
  error_code ignored;
  (void)found->second->socket.close(ignored);
}

void HttpListener::Impl::close_all() {
  std::vector<ConnectionPtr> all;
  for (const auto& [id, connection] : connections_) all.push_back(connection);
  for (const auto& connection : all) {
    close(connection->id);
    connection->cancel.emit(asio::cancellation_type::terminal);  // It may wait for the handler.
  }
}

void HttpListener::Impl::ended(Id id, const std::exception_ptr& failure) {
  if (failure && !stopping_) ++counters_.handler_failed;
  table_.remove(id);
  connections_.erase(id);
  if (stopping_) changed_.cancel();
}

void HttpListener::Impl::set_limit(const ConnectionPtr& to, Span limit) {
  to->timer.expires_after(duration(limit));
  to->timer.async_wait([to, number = ++to->limit_number](error_code error) {
    // A timer that has just fired cannot be cancelled any more, but its number is old then.
    if (error || number != to->limit_number) return;
    to->too_slow = true;
    error_code ignored;
    (void)to->socket.cancel(ignored);
  });
}

void HttpListener::Impl::end_limit(Connection& of) {
  ++of.limit_number;
  of.timer.cancel();
}

asio::awaitable<void> HttpListener::Impl::serve(ConnectionPtr with) {
  bool keep = true;
  while (keep && !stopping_) {
    table_.quiet(with->id);
    const bool came = with->buffer.size() > 0 || co_await first_bytes(with);
    if (!came) break;
    table_.busy(with->id);
    keep = co_await one_request(with);
    with->served_before = true;
  }
  if (!keep) co_await linger(with, limits_.linger_time_max);
  end_limit(*with);
}

/// Waits for the next request to begin. @return false when there will be none.
asio::awaitable<bool> HttpListener::Impl::first_bytes(ConnectionPtr with) {
  set_limit(with, with->served_before ? limits_.idle_time_max : limits_.read_time_max);
  const auto room = with->buffer.prepare(read_bytes);
  const auto [error, bytes] = co_await with->socket.async_read_some(room, as_result);
  if (error || with->too_slow) co_return false;
  with->buffer.commit(bytes);
  co_return true;
}

/// Reads one request and answers it. @return whether another may follow.
asio::awaitable<bool> HttpListener::Impl::one_request(ConnectionPtr with) {
  set_limit(with, limits_.read_time_max);
  Parser parser;
  parser.header_limit(static_cast<std::uint32_t>(limits_.header_bytes_max));
  parser.body_limit(limits_.body_bytes_max);
  auto [error, bytes] =
      co_await http::async_read_header(with->socket, with->buffer, parser, as_result);
  // The parser's own limit counts only what is still incomplete when it arrives.
  if (!error && bytes > limits_.header_bytes_max) error = http::error::header_limit;
  std::optional<HttpResponse> refused;
  if (!error) {
    refused = objection(parser.get());
    if (refused) ++counters_.malformed;
  }
  if (!error && !refused) error = co_await go_ahead(with, parser.get());
  if (!error && !refused) {
    std::tie(error, bytes) =
        co_await http::async_read(with->socket, with->buffer, parser, as_result);
  }
  if (error || with->too_slow) refused = complaint(*with, error);
  end_limit(*with);
  const bool is_head = parser.get().method() == http::verb::head;
  if (error && !refused) co_return false;
  if (refused) {
    (void)co_await send(with, std::move(*refused), is_head, false);
    co_return false;
  }
  const bool keep_wanted = parser.get().keep_alive();
  ++counters_.requests;
  auto answer = co_await ask_handler(plain_request(parser.release(), with->address));
  const bool keep = keep_wanted && !stopping_;
  co_return co_await send(with, std::move(answer), is_head, keep);
}

/// RFC 9110 §10.1.1: a sender may wait for our word before it sends the body.
asio::awaitable<error_code> HttpListener::Impl::go_ahead(ConnectionPtr with, const Head& head) {
  const bool asked = beast::iequals(head[http::field::expect], "100-continue");
  if (!asked || head.version() < 11) co_return error_code{};
  constexpr std::string_view word = "HTTP/1.1 100 Continue\r\n\r\n";
  const auto [error, bytes] =
      co_await asio::async_write(with->socket, asio::buffer(word), as_result);
  co_return error;
}

asio::awaitable<HttpResponse> HttpListener::Impl::ask_handler(HttpRequest request) {
  std::exception_ptr failure;
  try {
    co_return co_await handler_.handle(std::move(request));
  } catch (...) {
    failure = std::current_exception();
  }
  const auto state = co_await asio::this_coro::cancellation_state;
  if (state.cancelled() != asio::cancellation_type::none) std::rethrow_exception(failure);
  co_return counted(counters_.handler_failed,
                    problem(500, "The watcher failed to answer. Its log says more. Try again."));
}

asio::awaitable<bool> HttpListener::Impl::send(ConnectionPtr with, HttpResponse answer,
                                               bool is_head, bool keep) {
  if (answer.stream && !is_head) co_return co_await send_stream(with, std::move(answer));
  http::response<http::string_body> message;
  head_of(message, answer);
  if (answer.status != 204) message.content_length(answer.body.size());
  if (!is_head) message.body() = std::move(answer.body);
  message.keep_alive(keep);
  with->too_slow = false;
  set_limit(with, limits_.write_time_max);
  const auto [error, bytes] = co_await http::async_write(with->socket, message, as_result);
  end_limit(*with);
  co_return keep && !error && !with->too_slow;
}

void HttpListener::Impl::head_of(http::response_header<>& head, const HttpResponse& answer) const {
  head.version(11);
  head.result(static_cast<unsigned>(answer.status));
  head.reason(status_phrase(answer.status));
  head.set(http::field::date, http_date(clock_.wall_now()));
  for (const auto& [name, value] : answer.fields) head.insert(name, value);
  if (!answer.content_type.empty()) head.set(http::field::content_type, answer.content_type);
}

/// Each piece has the time limit of one answer. A stream counts as a quiet connection: it gives way
/// to new ones, and stop() ends it, since whoever reads it comes back.
asio::awaitable<bool> HttpListener::Impl::send_stream(ConnectionPtr with, HttpResponse answer) {
  http::response<http::empty_body> message;
  head_of(message, answer);
  message.chunked(true);
  message.keep_alive(false);
  http::response_serializer<http::empty_body> head(message);
  with->too_slow = false;
  set_limit(with, limits_.write_time_max);
  auto [error, bytes] = co_await http::async_write_header(with->socket, head, as_result);
  end_limit(*with);
  table_.quiet(with->id);
  std::string piece = std::move(answer.body);
  while (!error && !with->too_slow) {
    if (piece.empty()) piece = co_await answer.stream->next();
    const bool last = piece.empty();
    const std::string chunk = chunk_text(std::exchange(piece, {}));
    set_limit(with, limits_.write_time_max);
    std::tie(error, bytes) =
        co_await asio::async_write(with->socket, asio::buffer(chunk), as_result);
    end_limit(*with);
    if (last) break;
  }
  co_return false;
}

/// Closing while the sender still sends would make its system throw our answer away unread, so say
/// that we are done and let the rest come in, within limits.
asio::awaitable<void> HttpListener::Impl::linger(ConnectionPtr with, Span limit) {
  error_code error;
  (void)with->socket.shutdown(tcp::socket::shutdown_send, error);
  with->too_slow = false;
  set_limit(with, limit);
  std::array<char, read_bytes> rest{};
  std::size_t total = 0;
  while (!error && !with->too_slow && total < linger_bytes_max) {
    const auto [failed, bytes] =
        co_await with->socket.async_read_some(asio::buffer(rest), as_result);
    error = failed;
    total += bytes;
  }
}

/// What to say about a request that could not be read; nothing when nobody is there to hear it.
std::optional<HttpResponse> HttpListener::Impl::complaint(const Connection& with,
                                                          error_code error) {
  if (with.too_slow) {
    return counted(counters_.too_slow,
                   problem(408, "The request did not arrive within " +
                                    std::to_string(limits_.read_time_max.us / 1'000) +
                                    " ms. Send it in one piece, over a better link."));
  }
  if (error == http::error::body_limit) {
    return counted(
        counters_.too_large,
        problem(413, "The body is larger than " + std::to_string(limits_.body_bytes_max) +
                         " bytes. Send less, for example fewer readings."));
  }
  if (error == http::error::header_limit || error == http::error::buffer_overflow) {
    return counted(counters_.too_large, problem(431, "The header is larger than " +
                                                         std::to_string(limits_.header_bytes_max) +
                                                         " bytes. Send fewer or shorter fields."));
  }
  if (error == http::error::end_of_stream) return std::nullopt;
  if (error == http::error::bad_version) {
    return counted(counters_.malformed,
                   problem(505, "Only HTTP/1.1 and HTTP/1.0 are spoken here."));
  }
  if (error.category() != http::make_error_code(http::error::bad_method).category()) {
    return std::nullopt;
  }
  return counted(counters_.malformed,
                 problem(400, "The request is not valid HTTP/1.1: " + error.message() + "."));
}

HttpListener::HttpListener(asio::any_io_executor executor, RequestHandler& handler,
                           const Clock& clock, const HttpLimits& limits)
    : impl_(std::make_shared<Impl>(std::move(executor), handler, clock, limits)) {}
HttpListener::~HttpListener() = default;

Result<std::uint16_t> HttpListener::open(const std::string& address, std::uint16_t port) {
  return impl_->open(address, port);
}
asio::awaitable<void> HttpListener::run() {
  return impl_->run();
}
void HttpListener::stop() {
  impl_->stop();
}
HttpCounters HttpListener::counters() const {
  return impl_->counters();
}

}  // namespace ebbwatch
