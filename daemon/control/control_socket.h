// The Unix socket by which `ebbwatch` talks to the running daemon: one request, a line of JSON, and
// one answer, a line of JSON, then the connection ends. Open to the daemon's user and group.
//
// An answer of many parts is one line for each, then {"end": true}. What cannot be served is
// answered with {"error": "a sentence"}: a request that is not JSON, one over
// limits::control_request_bytes_max, one too many at once, one that took longer than 30 s.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <functional>
#include <memory>
#include <string>

#include "core/result.h"

namespace ebbwatch {

/// state_dir/control.sock
std::string control_socket_path(const std::string& state_dir);

class ControlSocket {
 public:
  /// Answers one request line (without its line end) with one line, or with several. An exception
  /// is answered as an error and costs only that request.
  using Handler = std::function<boost::asio::awaitable<std::string>(std::string request)>;

  ControlSocket(boost::asio::any_io_executor executor, Handler handler);
  ~ControlSocket();
  ControlSocket(const ControlSocket&) = delete;
  ControlSocket& operator=(const ControlSocket&) = delete;

  /// Takes the place of a socket that an earlier process left. Errors: storage, refused (a daemon
  /// answers there already), bad_input (the path is too long for a socket).
  Result<void> open(const std::string& state_dir);
  /// Serves until stop() or cancellation; at most limits::control_connections_max at once, each
  /// with a time limit.
  boost::asio::awaitable<void> run();
  /// Removes the socket; requests under way are cut off.
  void stop();

 private:
  class Impl;
  std::shared_ptr<Impl> impl_;
};

}  // namespace ebbwatch
