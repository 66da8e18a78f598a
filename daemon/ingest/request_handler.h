// What an HTTP server of ours does with a request. The server core (http_listener.*) knows nothing
// of check-ins, so that other listeners can share it.
#pragma once

#include <boost/asio/awaitable.hpp>

#include "ingest/http_message.h"

namespace ebbwatch {

class RequestHandler {
 public:
  RequestHandler() = default;
  RequestHandler(const RequestHandler&) = delete;
  RequestHandler& operator=(const RequestHandler&) = delete;
  virtual ~RequestHandler() = default;

  /// One complete request, on the I/O thread; requests of one connection come one after the other,
  /// those of several connections may overlap at its awaits. Must end by itself within a few
  /// seconds: the listener's limits are about the sender, not about this. An exception other than
  /// cancellation is answered with 500.
  virtual boost::asio::awaitable<HttpResponse> handle(HttpRequest request) = 0;
};

}  // namespace ebbwatch
