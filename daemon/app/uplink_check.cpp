#include "app/uplink_check.h"

#include <boost/asio/as_tuple.hpp>
#include <boost/asio/connect.hpp>
#include <boost/asio/experimental/awaitable_operators.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/url/parse.hpp>
#include <chrono>

namespace ebbwatch {
namespace {

namespace asio = boost::asio;
using asio::ip::tcp;
using asio::experimental::awaitable_operators::operator||;
constexpr auto as_values = asio::as_tuple(asio::use_awaitable);
constexpr std::chrono::seconds check_time_max{5};

asio::awaitable<bool> opens(HostPort target) {
  tcp::resolver resolver(co_await asio::this_coro::executor);
  auto [resolve_error, endpoints] =
      co_await resolver.async_resolve(target.host, target.port, as_values);
  if (resolve_error) co_return false;
  tcp::socket socket(co_await asio::this_coro::executor);
  auto [error, endpoint] = co_await asio::async_connect(socket, endpoints, as_values);
  // A refusal was sent by the host (or its network), so our own link carried it both ways.
  co_return !error || error == asio::error::connection_refused;
}

asio::awaitable<bool> answers_within_limit(UplinkReference reference) {
  const HostPort target = host_and_port(reference);
  if (target.host.empty()) co_return false;
  asio::steady_timer limit(co_await asio::this_coro::executor, check_time_max);
  auto first = co_await (opens(target) || limit.async_wait(as_values));
  co_return first.index() == 0 && std::get<0>(first);
}

}  // namespace

HostPort host_and_port(const UplinkReference& reference) {
  if (reference.kind == UplinkReference::Kind::http) {
    const auto url = boost::urls::parse_uri(reference.target);
    if (!url) return {};
    std::string port(url->port());
    if (port.empty()) port = url->scheme() == "https" ? "443" : "80";
    return {std::string(url->host_address()), port};
  }
  const auto colon = reference.target.rfind(':');
  if (colon == std::string::npos) return {};
  std::string host = reference.target.substr(0, colon);
  if (host.size() > 2 && host.front() == '[' && host.back() == ']') {
    host = host.substr(1, host.size() - 2);
  }
  return {host, reference.target.substr(colon + 1)};
}

asio::awaitable<void> check_uplink(std::vector<UplinkReference> references, Span every,
                                   UplinkHeard heard) {
  asio::steady_timer timer(co_await asio::this_coro::executor);
  auto next = std::chrono::steady_clock::now();
  while (true) {
    for (std::uint32_t i = 0; i < references.size(); ++i) {
      heard({i}, co_await answers_within_limit(references[i]));
    }
    next += std::chrono::microseconds(every.us);
    next = std::max(next, std::chrono::steady_clock::now());
    timer.expires_at(next);
    co_await timer.async_wait(asio::use_awaitable);
  }
}

}  // namespace ebbwatch
