// Opens a listening socket.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <cstdint>
#include <string>

#include "core/result.h"

namespace ebbwatch {

/// Binds and begins to queue connections.
/// @param address an IPv4 or IPv6 address; "::" takes both kinds. @param port 0: the system
/// chooses. Errors: bad_input (no address), unavailable (in use, not allowed, not on this machine).
Result<boost::asio::ip::tcp::acceptor> open_acceptor(boost::asio::any_io_executor executor,
                                                     const std::string& address,
                                                     std::uint16_t port);

}  // namespace ebbwatch
