#include "app/uplink_check.h"

#include <doctest/doctest.h>

#include <boost/asio/bind_cancellation_slot.hpp>
#include <boost/asio/cancellation_signal.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <map>

using namespace ebbwatch;
namespace asio = boost::asio;
using Kind = UplinkReference::Kind;

TEST_CASE("uplink check: host and port of every form of target") {
  const auto pair = [](Kind kind, const char* target) {
    const HostPort found = host_and_port({"x", kind, target});
    return found.host + " " + found.port;
  };
  CHECK(pair(Kind::tcp, "192.0.2.53:53") == "192.0.2.53 53");
  CHECK(pair(Kind::tcp, "[2001:db8::1]:853") == "2001:db8::1 853");
  CHECK(pair(Kind::http, "https://portal.example.net/") == "portal.example.net 443");
  CHECK(pair(Kind::http, "http://portal.example.net/up?x=1") == "portal.example.net 80");
  CHECK(pair(Kind::http, "http://[2001:db8::1]:8080/") == "2001:db8::1 8080");
  CHECK(host_and_port({"x", Kind::tcp, "nowhere"}).host.empty());
}

TEST_CASE(
    "uplink check: an open port and a refusing host answer, a name that is not there does not") {
  asio::io_context io;
  asio::ip::tcp::acceptor open(io, {asio::ip::make_address("127.0.0.1"), 0});
  std::string closed_port;
  {
    asio::ip::tcp::acceptor closed(io, {asio::ip::make_address("127.0.0.1"), 0});
    closed_port = std::to_string(closed.local_endpoint().port());
  }
  const std::vector<UplinkReference> references{
      {"open", Kind::tcp, "127.0.0.1:" + std::to_string(open.local_endpoint().port())},
      {"refusing", Kind::tcp, "127.0.0.1:" + closed_port},
      {"missing", Kind::tcp, "reference.invalid:53"}};
  std::map<std::uint32_t, bool> answers;
  asio::cancellation_signal stop;
  asio::co_spawn(io,
                 check_uplink(references, Span::of_h(1),
                              [&](ReferenceIndex reference, bool answered) {
                                answers[reference.value] = answered;
                                if (answers.size() == 3)
                                  stop.emit(asio::cancellation_type::terminal);
                              }),
                 asio::bind_cancellation_slot(stop.slot(), [](const std::exception_ptr&) {}));
  io.run_for(std::chrono::seconds(20));
  CHECK(answers == std::map<std::uint32_t, bool>{{0, true}, {1, true}, {2, false}});
}
