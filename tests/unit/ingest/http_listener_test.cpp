#include "ingest/http_listener.h"

#include <doctest/doctest.h>
#include <sys/resource.h>

#include <vector>

#include "ingest/body_stream.h"
#include "ingest/connection_table.h"
#include "loopback.h"

using namespace ebbwatch;
using namespace ebbwatch::test;
using namespace std::chrono_literals;

namespace {

const std::string host = "Host: watch.example.net\r\n";
const std::string get = "GET /a?b=1 HTTP/1.1\r\n" + host + "\r\n";

HttpLimits quick() {
  HttpLimits limits;
  limits.read_time_max = Span::of_ms(200);
  limits.idle_time_max = Span::of_ms(300);
  limits.linger_time_max = Span::of_ms(100);
  limits.stop_time_max = Span::of_ms(300);
  return limits;
}

std::string status_of(const std::string& answer) {
  return answer.substr(0, 12);
}

/// What a server with short limits says to one text, until it closes.
std::string says(const std::string& text) {
  Server server(quick());
  Client client(server.port);
  (void)client.send(text);
  return client.rest();
}

}  // namespace

TEST_CASE("listener: a request reaches the handler and its answer comes back, dated") {
  Server server;
  Client client(server.port);
  REQUIRE(client.send("POST /a?b=1 HTTP/1.1\r\n" + host + "Content-Length: 5\r\n\r\nhello"));
  const auto answer = client.answer();
  CAPTURE(answer);
  CHECK(status_of(answer) == "HTTP/1.1 200");
  CHECK(answer.find("Date: Tue, 20 Apr 2021 02:07:53 GMT\r\n") != std::string::npos);
  CHECK(answer.ends_with("\r\n\r\nPOST /a ?b=1 hello from 127.0.0.1"));
}

TEST_CASE("listener: one connection serves many requests, also sent all at once") {
  Server server;
  Client client(server.port);
  for (int i = 0; i < 50; ++i) {
    REQUIRE(client.send(get));
    REQUIRE(client.answer().ends_with("GET /a ?b=1  from 127.0.0.1"));
  }
  std::string many;
  for (int i = 0; i < 200; ++i)
    many += "GET /" + std::to_string(i) + " HTTP/1.1\r\n" + host + "\r\n";
  REQUIRE(client.send(many));
  for (int i = 0; i < 200; ++i) {
    const auto answer = client.answer();
    CAPTURE(i);
    REQUIRE(answer.find("\r\n\r\nGET /" + std::to_string(i) + " ?") != std::string::npos);
  }
  CHECK(server.counters().connections == 1);
  CHECK(server.counters().requests == 250);
}

TEST_CASE("listener: chunked bodies, absolute targets and byte by byte senders are understood") {
  Server server;
  Client client(server.port);
  REQUIRE(client.send("POST http://watch.example.net/c HTTP/1.1\r\n" + host +
                      "Transfer-Encoding: chunked\r\n\r\n3\r\nabc\r\n2\r\nde\r\n0\r\n\r\n"));
  CHECK(client.answer().ends_with("POST /c ? abcde from 127.0.0.1"));
  for (const char c : get) REQUIRE(client.send(std::string(1, c)));
  CHECK(client.answer().ends_with("GET /a ?b=1  from 127.0.0.1"));
}

TEST_CASE("listener: Connection close and HTTP/1.0 end the connection after the answer") {
  CHECK(
      says("GET / HTTP/1.1\r\n" + host + "Connection: close\r\n\r\n").starts_with("HTTP/1.1 200"));
  const auto old = says("GET / HTTP/1.0\r\n\r\n");
  CHECK(old.starts_with("HTTP/1.1 200"));
  CHECK(old.find("[no end]") == std::string::npos);
}

TEST_CASE("listener: HEAD gets the length but no body") {
  const auto answer = says("HEAD / HTTP/1.1\r\n" + host + "Connection: close\r\n\r\n");
  CHECK(answer.find("Content-Length: ") != std::string::npos);
  CHECK(answer.ends_with("\r\n\r\n"));
}

TEST_CASE("listener: a sender that waits for a go-ahead gets it") {
  Server server;
  Client client(server.port);
  REQUIRE(client.send("POST /e HTTP/1.1\r\n" + host +
                      "Content-Length: 2\r\nExpect: 100-continue\r\n\r\n"));
  CHECK(status_of(client.answer()) == "HTTP/1.1 100");
  REQUIRE(client.send("ok"));
  CHECK(client.answer().ends_with("POST /e ? ok from 127.0.0.1"));
}

TEST_CASE("listener: what is not proper HTTP/1.1 is refused with a problem document and closed") {
  const std::vector<std::pair<std::string, std::string>> cases = {
      {"hello\r\n\r\n", "HTTP/1.1 400"},
      {"GET  / HTTP/1.1\r\n" + host + "\r\n", "HTTP/1.1 400"},
      {"GET / HTTP/1.1\r\nbad field\r\n\r\n", "HTTP/1.1 400"},
      {"GET / HTTP/1.1\r\n" + host + "X: \x01\r\n\r\n", "HTTP/1.1 400"},
      {"GET / HTTP/1.1\r\n\r\n", "HTTP/1.1 400"},
      {"GET / HTTP/1.1\r\n" + host + host + "\r\n", "HTTP/1.1 400"},
      {"GET / HTTP/9.1\r\n" + host + "\r\n", "HTTP/1.1 505"},
      {"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n", "HTTP/1.1 505"},
      {"POST / HTTP/1.1\r\n" + host + "Content-Length: -1\r\n\r\n", "HTTP/1.1 400"},
      {"POST / HTTP/1.1\r\n" + host + "Content-Length: 1\r\nContent-Length: 2\r\n\r\na",
       "HTTP/1.1 400"},
      {"POST / HTTP/1.1\r\n" + host +
           "Content-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
       "HTTP/1.1 400"},
      {"POST / HTTP/1.1\r\n" + host +
           "Transfer-Encoding: chunked\r\nContent-Length: 5\r\n\r\n0\r\n\r\n",
       "HTTP/1.1 400"},
      {"POST / HTTP/1.1\r\n" + host + "Transfer-Encoding: gzip\r\n\r\n", "HTTP/1.1 400"},
      {"POST / HTTP/1.1\r\n" + host + "Transfer-Encoding: chunked, gzip\r\n\r\n", "HTTP/1.1 400"},
      {"POST / HTTP/1.1\r\n" + host + "Transfer-Encoding: chunked\r\n\r\nxyz\r\n", "HTTP/1.1 400"}};
  for (const auto& [text, wanted] : cases) {
    CAPTURE(text);
    Server server(quick());
    Client client(server.port);
    REQUIRE(client.send(text));
    const auto answer = client.rest();
    CAPTURE(answer);
    CHECK(status_of(answer) == wanted);
    CHECK(answer.find("application/problem+json") != std::string::npos);
    CHECK(answer.find("Connection: close") != std::string::npos);
    CHECK(answer.find("[no end]") == std::string::npos);
    CHECK(server.echo.asked == 0);
    CHECK(server.counters().malformed == 1);
  }
}

TEST_CASE("listener: 16 KiB are good, one byte more is 413, with and without Content-Length") {
  const std::size_t most = limits::check_in_body_bytes_max;
  const auto with_length = [&](std::size_t size) {
    return "POST / HTTP/1.1\r\n" + host +
           "Connection: close\r\nContent-Length: " + std::to_string(size) + "\r\n\r\n" +
           std::string(size, 'x');
  };
  const auto chunked = [&](std::size_t size) {
    std::string out =
        "POST / HTTP/1.1\r\n" + host + "Connection: close\r\nTransfer-Encoding: chunked\r\n\r\n";
    for (std::size_t sent = 0; sent < size; sent += 1) {
      const std::size_t part = std::min<std::size_t>(1024, size - sent);
      char head[16];
      std::snprintf(head, sizeof head, "%zx\r\n", part);
      out += head + std::string(part, 'x') + "\r\n";
      sent += part - 1;
    }
    return out + "0\r\n\r\n";
  };
  CHECK(status_of(says(with_length(most))) == "HTTP/1.1 200");
  CHECK(status_of(says(with_length(most + 1))) == "HTTP/1.1 413");
  CHECK(status_of(says(chunked(most))) == "HTTP/1.1 200");
  CHECK(status_of(says(chunked(most + 1))) == "HTTP/1.1 413");
  // The answer arrives although far more is still being sent.
  CHECK(status_of(says(with_length(800'000))) == "HTTP/1.1 413");
}

TEST_CASE("listener: a header over 8 KiB is 431") {
  const std::string line = "X: " + std::string(1000, 'y') + "\r\n";
  std::string text = "GET / HTTP/1.1\r\n" + host;
  for (int i = 0; i < 9; ++i) text += line;
  CHECK(status_of(says(text + "\r\n")) == "HTTP/1.1 431");
  CHECK(status_of(says("GET /" + std::string(9000, 'z') + " HTTP/1.1\r\n" + host + "\r\n")) ==
        "HTTP/1.1 431");
}

TEST_CASE(
    "listener: a sender that is too slow gets 408, in the header, the body and drop by drop") {
  CHECK(status_of(says("GET / HT")) == "HTTP/1.1 408");
  CHECK(status_of(says("POST / HTTP/1.1\r\n" + host + "Content-Length: 9\r\n\r\nab")) ==
        "HTTP/1.1 408");
  Server server(quick());
  Client client(server.port);
  // Each drop comes in time, the whole does not: sends until the server has had enough.
  const auto begun = std::chrono::steady_clock::now();
  REQUIRE(client.send("GET /"));
  bool ended = false;
  while (!ended && std::chrono::steady_clock::now() - begun < 10s) {
    ended = !client.send("x") || server.counters().too_slow > 0;
  }
  CHECK(ended);
  CHECK(std::chrono::steady_clock::now() - begun >= 190ms);
}

TEST_CASE("listener: connections that say nothing, or nothing more, are closed without words") {
  CHECK(says("").empty());
  Server server(quick());
  Client client(server.port);
  REQUIRE(client.send(get));
  CHECK(status_of(client.answer()) == "HTTP/1.1 200");
  CHECK(client.rest().empty());
  CHECK(server.comes_true([](const HttpCounters& now) { return now.open == 0; }));
  CHECK(server.counters().too_slow == 0);
}

TEST_CASE("listener: a sender that closes half of the connection still gets its answer") {
  Server server(quick());
  Client client(server.port);
  REQUIRE(client.send(get));
  client.close_sending();
  CHECK(status_of(client.rest()) == "HTTP/1.1 200");
  Client cut(server.port);
  REQUIRE(cut.send("POST / HTTP/1.1\r\n" + host + "Content-Length: 9\r\n\r\nab"));
  cut.close_sending();
  CHECK(status_of(cut.rest()) == "HTTP/1.1 400");
}

TEST_CASE("listener: a handler that throws costs one answer of 500, not the listener") {
  Server server(quick());
  Client client(server.port);
  REQUIRE(client.send("GET /throw HTTP/1.1\r\n" + host + "\r\n"));
  const auto answer = client.answer();
  CHECK(status_of(answer) == "HTTP/1.1 500");
  CHECK(answer.find("a failure") == std::string::npos);
  REQUIRE(client.send(get));
  CHECK(status_of(client.answer()) == "HTTP/1.1 200");
  CHECK(server.counters().handler_failed == 1);
}

TEST_CASE("listener: IPv6 senders and IPv4 senders of one listener are told by their addresses") {
  Server server({}, "::");
  Client six(server.port, "::1");
  REQUIRE(six.connected());
  REQUIRE(six.send(get));
  CHECK(six.answer().ends_with("from ::1"));
  Client four(server.port);
  REQUIRE(four.connected());
  REQUIRE(four.send(get));
  CHECK(four.answer().ends_with("from 127.0.0.1"));
}

TEST_CASE("listener: an address in use, not ours or no address is an error that says so") {
  Server server;
  FakeClock clock;
  EchoHandler handler;
  boost::asio::io_context context;
  HttpListener other(context.get_executor(), handler, clock);
  const auto taken = other.open("127.0.0.1", server.port);
  REQUIRE_FALSE(taken.ok());
  CHECK(taken.error().code == Errc::unavailable);
  CHECK(taken.error().text.find(std::to_string(server.port)) != std::string::npos);
  CHECK(other.open("192.0.2.1", 0).error().code == Errc::unavailable);
  CHECK(other.open("harbour", 0).error().code == Errc::bad_input);
}

TEST_CASE("listener: 3,000 connections against a limit of 2,000: the quiet make room for the new") {
  rlimit files{};
  ::getrlimit(RLIMIT_NOFILE, &files);
  files.rlim_cur = std::min<rlim_t>(files.rlim_max, 20'000);
  ::setrlimit(RLIMIT_NOFILE, &files);
  REQUIRE(files.rlim_cur >= 8'000);
  Server server;
  std::vector<std::unique_ptr<Client>> clients;
  for (int i = 0; i < 3000; ++i) {
    const std::string from = "127.0.1." + std::to_string(1 + i % 100);
    clients.push_back(std::make_unique<Client>(server.port, "127.0.0.1", from));
    REQUIRE(clients.back()->connected());
  }
  REQUIRE(server.comes_true(
      [](const HttpCounters& now) { return now.connections + now.turned_away == 3000; }));
  CHECK(server.comes_true([](const HttpCounters& now) { return now.open == 2000; }));
  const auto now = server.counters();
  CHECK(now.made_room == 1000);
  CHECK(now.turned_away == 0);
  REQUIRE(clients.back()->send(get));
  CHECK(status_of(clients.back()->answer()) == "HTTP/1.1 200");
  CHECK(clients.front()->rest().empty());
}

TEST_CASE("listener: when all are busy a new one is turned away with 503") {
  auto limits = quick();
  limits.connections_per_address_max = 2;
  Server server(limits);
  Client one(server.port);
  Client two(server.port);
  REQUIRE(one.send("GET /wait HTTP/1.1\r\n" + host + "\r\n"));
  REQUIRE(two.send("GET /wait HTTP/1.1\r\n" + host + "\r\n"));
  REQUIRE(server.comes_true([](const HttpCounters& now) { return now.requests == 2; }));
  Client three(server.port);
  const auto answer = three.rest();
  CHECK(status_of(answer) == "HTTP/1.1 503");
  CHECK(answer.find("Retry-After: 10") != std::string::npos);
  Client elsewhere(server.port, "127.0.0.1", "127.0.0.2");
  REQUIRE(elsewhere.send(get));
  CHECK(status_of(elsewhere.answer()) == "HTTP/1.1 200");
  server.echo.released = true;
  CHECK(status_of(one.answer()) == "HTTP/1.1 200");
  CHECK(status_of(two.answer()) == "HTTP/1.1 200");
}

TEST_CASE("listener: stop closes the quiet at once and lets a request that has begun finish") {
  Server server;
  Client quiet(server.port);
  Client busy(server.port);
  REQUIRE(quiet.send(get));
  REQUIRE(status_of(quiet.answer()) == "HTTP/1.1 200");
  REQUIRE(busy.send("GET /wait HTTP/1.1\r\n" + host + "\r\n"));
  REQUIRE(server.comes_true([](const HttpCounters& now) { return now.requests == 2; }));
  server.stop();
  CHECK(quiet.rest().empty());
  CHECK_FALSE(server.ends_within(50ms));
  server.echo.released = true;
  const auto answer = busy.rest();
  CHECK(status_of(answer) == "HTTP/1.1 200");
  CHECK(answer.find("Connection: close") != std::string::npos);
  CHECK(server.ends_within(5s));
  CHECK_FALSE(Client(server.port).connected());
}

TEST_CASE("listener: stop does not wait for a handler or a sender that never ends") {
  Server server(quick());
  Client stuck(server.port);
  Client slow(server.port);
  REQUIRE(stuck.send("GET /wait HTTP/1.1\r\n" + host + "\r\n"));
  REQUIRE(slow.send("GET /"));
  REQUIRE(server.comes_true([](const HttpCounters& now) { return now.requests == 1; }));
  server.stop();
  CHECK(server.ends_within(5s));
  CHECK(stuck.rest().empty());
}

TEST_CASE("connection table: one sender's quiet connection makes room for that sender first") {
  ConnectionTable table(3, 2);
  table.add(1, "a");
  table.add(2, "b");
  table.add(3, "a");
  auto place = table.place_for("a");
  CHECK((place.admitted && place.make_room == 1U));
  table.busy(1);
  CHECK(table.place_for("a").make_room == 3U);
  table.busy(3);
  CHECK_FALSE(table.place_for("a").admitted);
  CHECK(table.place_for("c").make_room == 2U);
  table.busy(2);
  CHECK_FALSE(table.place_for("c").admitted);
  table.quiet(3);
  CHECK(table.place_for("c").make_room == 3U);
  table.remove(3);
  table.remove(3);
  place = table.place_for("c");
  CHECK((place.admitted && !place.make_room));
  CHECK(table.size() == 2);
}

namespace {

/// Gives its pieces one by one, then ends.
class Pieces final : public BodyStream {
 public:
  explicit Pieces(std::vector<std::string> pieces) : pieces_(std::move(pieces)) {}
  boost::asio::awaitable<std::string> next() override {
    if (at_ == pieces_.size()) co_return std::string();
    co_return pieces_[at_++];
  }

 private:
  std::vector<std::string> pieces_;
  std::size_t at_ = 0;
};

class StreamHandler final : public RequestHandler {
 public:
  boost::asio::awaitable<HttpResponse> handle(HttpRequest request) override {
    HttpResponse out;
    out.status = 200;
    out.content_type = "text/event-stream";
    out.body = request.path == "/begin" ? "begin" : "";
    out.stream = std::make_shared<Pieces>(std::vector<std::string>{"first", "second piece"});
    co_return out;
  }
};

}  // namespace

TEST_CASE("listener: a stream is sent chunked, piece by piece, and the connection ends with it") {
  StreamHandler handler;
  Server server(quick(), "127.0.0.1", &handler);
  Client client(server.port);
  REQUIRE(client.send("GET /begin HTTP/1.1\r\n" + host + "\r\n"));
  const auto answer = client.rest();
  CAPTURE(answer);
  CHECK(answer.find("Transfer-Encoding: chunked\r\n") != std::string::npos);
  CHECK(answer.find("Connection: close\r\n") != std::string::npos);
  CHECK(answer.ends_with("\r\n\r\n5\r\nbegin\r\n5\r\nfirst\r\nc\r\nsecond piece\r\n0\r\n\r\n"));
}
