#include "ingest/acceptor.h"

#include <boost/asio/ip/v6_only.hpp>
#include <utility>

namespace ebbwatch {

namespace asio = boost::asio;
using asio::ip::tcp;

Result<tcp::acceptor> open_acceptor(asio::any_io_executor executor, const std::string& address,
                                    std::uint16_t port) {
  boost::system::error_code error;
  const auto parsed = asio::ip::make_address(address, error);
  if (error) {
    return Error{Errc::bad_input,
                 "Cannot listen on \"" + address +
                     "\": it is no IPv4 or IPv6 address. Give one, such as 0.0.0.0 "
                     "or ::."};
  }
  tcp::acceptor acceptor(std::move(executor));
  const tcp::endpoint at(parsed, port);
  (void)acceptor.open(at.protocol(), error);
  if (!error) (void)acceptor.set_option(tcp::acceptor::reuse_address(true), error);
  if (!error && parsed.is_v6()) {
    (void)acceptor.set_option(asio::ip::v6_only(!parsed.is_unspecified()), error);
  }
  if (!error) (void)acceptor.bind(at, error);
  if (!error) (void)acceptor.listen(asio::socket_base::max_listen_connections, error);
  if (error) {
    return Error{Errc::unavailable, "Cannot listen on " + address + " port " +
                                        std::to_string(port) + ": " + error.message() +
                                        ". Choose another address or port, or stop the program "
                                        "that uses it."};
  }
  return acceptor;
}

}  // namespace ebbwatch
