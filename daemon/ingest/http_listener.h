// An HTTP/1.1 server for small requests, on the I/O thread: accepts, reads with limits, asks a
// RequestHandler, answers, keeps alive. Nothing here knows what the requests mean.
//
// A sender is met as follows. 400: not HTTP, both Content-Length and Transfer-Encoding, a
// Transfer-Encoding that does not end in chunked, not exactly one Host. 408: the whole request did
// not arrive in time. 413 and 431: body or header too large. 505: not HTTP/1.0 or 1.1. After each
// of these the connection is closed. When there is no room for a connection: 503 and closed,
// unread. A connection that never sends anything is closed without words.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <string>

#include "core/limits.h"
#include "core/result.h"
#include "core/time.h"
#include "ingest/request_handler.h"
#include "ports/clock.h"

namespace ebbwatch {

struct HttpLimits {
  std::size_t body_bytes_max = limits::check_in_body_bytes_max;
  std::size_t header_bytes_max = limits::http_header_bytes_max;
  std::size_t connections_max = limits::http_connections_max;
  std::size_t connections_per_address_max = limits::http_connections_per_address_max;
  Span read_time_max = limits::http_read_time_max;   ///< Whole request, from its first byte on.
  Span idle_time_max = limits::http_idle_time_max;   ///< Between requests.
  Span write_time_max = limits::http_read_time_max;  ///< Whole answer.
  Span linger_time_max = limits::http_linger_time_max;
  Span stop_time_max = Span::of_s(5);  ///< After stop(), for requests that are being served.
};

/// What happened since the start, for the log and the metrics.
struct HttpCounters {
  std::uint64_t connections = 0;     ///< Accepted and given a place.
  std::uint64_t turned_away = 0;     ///< No room: 503.
  std::uint64_t made_room = 0;       ///< Quiet ones closed for new ones.
  std::uint64_t accept_failed = 0;   ///< Out of file descriptors and the like.
  std::uint64_t requests = 0;        ///< Handed to the handler.
  std::uint64_t malformed = 0;       ///< 400, 505
  std::uint64_t too_slow = 0;        ///< 408
  std::uint64_t too_large = 0;       ///< 413, 431
  std::uint64_t handler_failed = 0;  ///< 500
  std::size_t open = 0;              ///< Now.
};

class HttpListener {
 public:
  /// @param handler, clock must outlive run(). The clock is for the Date field only.
  HttpListener(boost::asio::any_io_executor executor, RequestHandler& handler, const Clock& clock,
               const HttpLimits& limits = {});
  ~HttpListener();
  HttpListener(const HttpListener&) = delete;
  HttpListener& operator=(const HttpListener&) = delete;

  /// Binds and begins to queue connections; may be called for several addresses, before run().
  /// @param address an IPv4 or IPv6 address; "::" takes both kinds.
  /// @param port 0: the system chooses. @return the port.
  /// Errors: bad_input (no address), unavailable (in use, not allowed, not on this machine).
  Result<std::uint16_t> open(const std::string& address, std::uint16_t port);

  /// Serves until stop() or cancellation, then ends when the last connection has ended. After
  /// stop(), requests that have begun are answered, with a time limit; cancellation cuts all off at
  /// once.
  boost::asio::awaitable<void> run();
  /// Stops in good order; run() then ends. On the I/O thread.
  void stop();

  HttpCounters counters() const;

 private:
  class Impl;
  std::shared_ptr<Impl> impl_;
};

}  // namespace ebbwatch
