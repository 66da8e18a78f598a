// Which handler answers which part of one HTTP listener's addresses.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "ingest/request_handler.h"

namespace ebbwatch {

class Routes final : public RequestHandler {
 public:
  /// @param other answers everything that has no route. All handlers must outlive this.
  explicit Routes(RequestHandler& other) : other_(other) {}

  /// Paths that begin with `prefix` ("/v1/answer/") go to `handler`. Before the listener runs.
  void add(std::string prefix, RequestHandler& handler) {
    routes_.emplace_back(std::move(prefix), &handler);
  }

  boost::asio::awaitable<HttpResponse> handle(HttpRequest request) override {
    for (const auto& [prefix, handler] : routes_) {
      if (request.path.starts_with(prefix)) return handler->handle(std::move(request));
    }
    return other_.handle(std::move(request));
  }

 private:
  RequestHandler& other_;
  std::vector<std::pair<std::string, RequestHandler*>> routes_;
};

}  // namespace ebbwatch
