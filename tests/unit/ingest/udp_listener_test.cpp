#include "ingest/udp_listener.h"

#include <doctest/doctest.h>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/udp.hpp>
#include <chrono>

#include "core/limits.h"
#include "fakes.h"

using namespace ebbwatch;
using namespace ebbwatch::test;
using boost::asio::ip::udp;

namespace {

constexpr std::chrono::seconds patience{30};

struct Server {
  boost::asio::io_context io{1};
  FakeClock clock;
  CountingEntropy entropy;
  Admission admission{entropy};
  RememberingSink sink;
  DatagramDesk desk{admission, sink, entropy};
  UdpListener listener{io.get_executor(), desk, clock};
  bool ended = false;

  Server() { admission.replace_keys(two_keys()); }
  std::uint16_t open(const std::string& address) {
    const auto port = listener.open(address, 0);
    REQUIRE_MESSAGE(port.ok(), (port ? "" : port.error().text));
    return port.value();
  }
  void run() {
    boost::asio::co_spawn(io, listener.run(), [this](const std::exception_ptr& failure) {
      CHECK(!failure);
      ended = true;
    });
  }
  template <class Condition>
  void until(Condition holds) {
    const auto end = std::chrono::steady_clock::now() + patience;
    while (!holds() && std::chrono::steady_clock::now() < end) {
      io.run_one_for(std::chrono::milliseconds(50));
    }
    INFO("received " << listener.counters().received << ", overflowed "
                     << listener.counters().overflowed);
    REQUIRE(holds());
  }
  std::string question(std::uint64_t seq) const {
    const std::string text = "EBB1 lagoon-main " + std::to_string(seq) + " " +
                             std::to_string(clock.wall.us / 1000) + " - uptime_s=5";
    const Sha256 mac = hmac_sha256(key_of(1).text, text);
    return text + " " + to_hex(std::span(mac).first(16));
  }
};

/// A sender that accepts answers only from the address that it wrote to.
struct Sender {
  udp::socket socket;
  Sender(Server& server, const std::string& to, std::uint16_t port) : socket(server.io) {
    socket.connect({boost::asio::ip::make_address(to), port});
    socket.non_blocking(true);
  }
  void send(const std::string& bytes) { socket.send(boost::asio::buffer(bytes)); }
  std::string answer() {
    char bytes[600];
    boost::system::error_code error;
    const auto size = socket.receive(boost::asio::buffer(bytes), 0, error);
    return error ? std::string() : std::string(bytes, size);
  }
};

void asks_and_is_answered(Server& server, const std::string& to, std::uint16_t port) {
  Sender sender(server, to, port);
  const auto before = server.listener.counters().answered;
  sender.send(server.question(before + 1));
  server.until([&] { return server.listener.counters().answered > before; });
  CHECK(sender.answer().starts_with("EBB1 ok "));
}

}  // namespace

TEST_CASE_FIXTURE(Server, "udp listener: answers from the address that was written to") {
  const auto port = open("0.0.0.0");
  run();
  asks_and_is_answered(*this, "127.0.0.1", port);
  asks_and_is_answered(*this, "127.0.0.9", port);
  CHECK(sink.taken.size() == 2);
  CHECK(sink.taken[0].address == "127.0.0.1");
  listener.stop();
  until([&] { return ended; });
}

TEST_CASE_FIXTURE(Server, "udp listener: one IPv6 socket takes both kinds, several may be open") {
  const auto both = listener.open("::", 0);
  if (!both) {
    MESSAGE("this machine has no IPv6");
    return;
  }
  const auto other = open("127.0.0.1");
  run();
  asks_and_is_answered(*this, "127.0.0.1", both.value());
  CHECK(sink.taken[0].address == "127.0.0.1");
  Sender six(*this, "::1", both.value());
  six.send(question(7));
  until([&] { return sink.taken.size() == 2; });
  CHECK(six.answer().starts_with("EBB1 ok "));
  CHECK(sink.taken[1].address == "::1");
  Sender third(*this, "127.0.0.1", other);
  third.send(question(8));
  until([&] { return sink.taken.size() == 3; });
  listener.stop();
  until([&] { return ended; });
}

TEST_CASE_FIXTURE(Server, "udp listener: batches, too long ones, empty ones and a full buffer") {
  const auto port = open("127.0.0.1");
  run();
  Sender sender(*this, "127.0.0.1", port);
  sender.send("");
  sender.send(std::string(512, 'x'));
  sender.send(std::string(513, 'x'));
  sender.send(std::string(9000, 'x'));
  for (int i = 0; i < 200; ++i) sender.send(question(1));  // More than one batch.
  until([&] { return listener.counters().received == 204; });
  CHECK(desk.counters().malformed == 4);
  CHECK(desk.counters().taken == 1);
  CHECK(desk.counters().replayed == 199);
  CHECK(listener.counters().overflowed == 0);
  // Nobody reads while these come; what did not fit is known with the next one that does fit.
  const auto too_many = static_cast<std::uint64_t>(listener.buffer_bytes()) / 64;
  for (std::uint64_t i = 0; i < too_many; ++i) sender.send("flood");
  std::uint64_t after = 0;
  until([&] {  // Those that come while it is still full are dropped, too.
    sender.send("after the flood");
    ++after;
    return listener.counters().overflowed > 0;
  });
  until([&] {
    const auto counts = listener.counters();
    return counts.received + counts.overflowed == 204 + too_many + after;
  });
  listener.stop();
  until([&] { return ended; });
}

TEST_CASE_FIXTURE(Server, "udp listener: ends by cancellation, and says why it cannot open") {
  const auto taken = open("127.0.0.1");
  const auto again = listener.open("127.0.0.1", taken);
  REQUIRE_FALSE(again);
  CHECK(again.error().code == Errc::unavailable);
  CHECK(again.error().text.find("Cannot take datagrams on 127.0.0.1 port ") == 0);
  const auto odd = listener.open("harbour", 1);
  REQUIRE_FALSE(odd);
  CHECK(odd.error().code == Errc::bad_input);
  CHECK(listener.buffer_bytes() > 0);
  CHECK(listener.buffer_bytes() <= limits::datagram_buffer_bytes);
  run();
  io.poll();
  listener.stop();
  until([&] { return ended; });
}
