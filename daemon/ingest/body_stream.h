// A body that is made while it is sent, such as a stream of events.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <string>

namespace ebbwatch {

class BodyStream {
 public:
  BodyStream() = default;
  BodyStream(const BodyStream&) = delete;
  BodyStream& operator=(const BodyStream&) = delete;
  virtual ~BodyStream() = default;

  /// The next piece, on the I/O thread; empty: the body ends here. May wait, but not for long
  /// without a piece: a receiver that has gone is noticed only when something is sent to it.
  virtual boost::asio::awaitable<std::string> next() = 0;
};

}  // namespace ebbwatch
