// The socket side of check-ins by datagram: receives in batches on the I/O thread, asks the desk,
// answers from the address that was written to. A socket for each address that is opened.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <cstdint>
#include <memory>
#include <string>

#include "core/result.h"
#include "ingest/datagram_desk.h"
#include "ports/clock.h"

namespace ebbwatch {

struct UdpCounters {
  std::uint64_t received = 0;
  std::uint64_t answered = 0;
  /// Answers that the system did not take at once; the sender asks again.
  std::uint64_t answers_dropped = 0;
  std::uint64_t overflowed = 0;  ///< Dropped by the system because our receive buffer was full.
};

class UdpListener {
 public:
  /// @param desk, clock must outlive run().
  UdpListener(boost::asio::any_io_executor executor, DatagramDesk& desk, const Clock& clock);
  ~UdpListener();
  UdpListener(const UdpListener&) = delete;
  UdpListener& operator=(const UdpListener&) = delete;

  /// @param address an IPv4 or IPv6 address; "::" takes both kinds. @param port 0: the system
  /// chooses. @return the port.
  /// Errors: bad_input (no address), unavailable (in use, not allowed, not on this machine).
  Result<std::uint16_t> open(const std::string& address, std::uint16_t port);

  /// Serves until stop() or cancellation.
  boost::asio::awaitable<void> run();
  void stop();

  UdpCounters counters() const;
  /// The smallest receive buffer that the system gave us, in bytes of payload and bookkeeping; it
  /// should be limits::datagram_buffer_bytes.
  int buffer_bytes() const;

 private:
  class Impl;
  std::shared_ptr<Impl> impl_;
};

}  // namespace ebbwatch
