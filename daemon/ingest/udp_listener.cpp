#include "ingest/udp_listener.h"

#include <netinet/in.h>
#include <sys/socket.h>

#include <algorithm>
#include <array>
#include <boost/asio/as_tuple.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/ip/udp.hpp>
#include <boost/asio/ip/v6_only.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <cstring>
#include <list>

#include "core/limits.h"

namespace ebbwatch {
namespace {

namespace asio = boost::asio;
using asio::ip::udp;
using boost::system::error_code;

constexpr auto as_result = asio::as_tuple(asio::use_awaitable);
constexpr std::size_t batch_max = 64;

/// Room for what the system says beside a datagram: to which of our addresses it came, and how many
/// were dropped so far.
union Beside {
  cmsghdr head;
  char bytes[CMSG_SPACE(sizeof(in6_pktinfo)) + CMSG_SPACE(sizeof(std::uint32_t)) +
             CMSG_SPACE(sizeof(in_pktinfo))];
};

/// One batch of datagrams, and the answers to them. Large, so one for all sockets.
struct Datagrams {
  std::array<std::array<char, limits::datagram_bytes_max + 1>, batch_max> bytes;
  std::array<sockaddr_in6, batch_max> from;
  std::array<Beside, batch_max> beside;
  std::array<iovec, batch_max> in, out;
  std::array<mmsghdr, batch_max> received, answers;
  std::array<std::string, batch_max> texts;
};

asio::ip::address address_of(const sockaddr_in6& from) {
  if (from.sin6_family == AF_INET6) {
    asio::ip::address_v6::bytes_type bytes;
    std::memcpy(bytes.data(), &from.sin6_addr, bytes.size());
    return asio::ip::address_v6(bytes, from.sin6_scope_id);
  }
  sockaddr_in old{};
  std::memcpy(&old, &from, sizeof old);
  return asio::ip::address_v4(ntohl(old.sin_addr.s_addr));
}

bool set_flag(int socket, int level, int option) {
  const int on = 1;
  return setsockopt(socket, level, option, &on, sizeof on) == 0;
}

/// Beyond the system's own maximum only with a capability that we do not have as a rule.
int enlarge_buffer(int socket) {
  const int wanted = limits::datagram_buffer_bytes;
  if (setsockopt(socket, SOL_SOCKET, SO_RCVBUFFORCE, &wanted, sizeof wanted) != 0) {
    (void)setsockopt(socket, SOL_SOCKET, SO_RCVBUF, &wanted, sizeof wanted);
  }
  int given = 0;
  socklen_t size = sizeof given;
  (void)getsockopt(socket, SOL_SOCKET, SO_RCVBUF, &given, &size);
  return given / 2;  // The system doubles it for its bookkeeping and says so.
}

Error cannot_listen(const std::string& address, std::uint16_t port, const error_code& error) {
  return {Errc::unavailable, "Cannot take datagrams on " + address + " port " +
                                 std::to_string(port) + ": " + error.message() +
                                 ". Choose another address or port, or stop the program that uses "
                                 "it."};
}

}  // namespace

class UdpListener::Impl : public std::enable_shared_from_this<UdpListener::Impl> {
 public:
  Impl(asio::any_io_executor executor, DatagramDesk& desk, const Clock& clock)
      : executor_(std::move(executor)), desk_(desk), clock_(clock), changed_(executor_) {
    changed_.expires_at(asio::steady_timer::time_point::max());
  }

  Result<std::uint16_t> open(const std::string& address, std::uint16_t port);
  asio::awaitable<void> run();
  void stop();
  UdpCounters counters() const;
  int buffer_bytes() const { return buffer_bytes_; }

 private:
  struct Door {
    explicit Door(asio::any_io_executor executor) : socket(std::move(executor)) {}
    udp::socket socket;
    std::uint32_t dropped = 0;  ///< The system's own count; it wraps.
    std::uint64_t overflowed = 0;
  };

  asio::awaitable<void> serve(Door& door);
  std::size_t take_batch(Door& door);
  void prepare(std::size_t count);
  void look_beside(Door& door, msghdr& head);
  void send_answers(Door& door, std::size_t count);

  asio::any_io_executor executor_;
  DatagramDesk& desk_;
  const Clock& clock_;
  std::list<Door> doors_;
  Datagrams batch_;
  UdpCounters counters_;
  int buffer_bytes_ = limits::datagram_buffer_bytes;
  asio::steady_timer changed_;  ///< Never fires; cancelled when run() must look again.
  std::size_t serving_ = 0;
  bool stopping_ = false;
};

Result<std::uint16_t> UdpListener::Impl::open(const std::string& address, std::uint16_t port) {
  error_code error;
  const auto parsed = asio::ip::make_address(address, error);
  if (error) {
    return Error{Errc::bad_input, "Cannot take datagrams on \"" + address +
                                      "\": it is no IPv4 or IPv6 address. Give one, such as "
                                      "0.0.0.0 or ::."};
  }
  const udp::endpoint at(parsed, port);
  Door door(executor_);
  (void)door.socket.open(at.protocol(), error);
  if (!error && parsed.is_v6()) {
    (void)door.socket.set_option(asio::ip::v6_only(!parsed.is_unspecified()), error);
  }
  if (!error) (void)door.socket.bind(at, error);
  if (!error) (void)door.socket.non_blocking(true, error);
  if (error) return cannot_listen(address, port, error);
  const int socket = door.socket.native_handle();
  bool told = set_flag(socket, SOL_SOCKET, SO_RXQ_OVFL);
  told = (parsed.is_v6() ? set_flag(socket, IPPROTO_IPV6, IPV6_RECVPKTINFO)
                         : set_flag(socket, IPPROTO_IP, IP_PKTINFO)) &&
         told;
  if (!told)
    return cannot_listen(address, port, error_code(errno, boost::system::system_category()));
  buffer_bytes_ = std::min(buffer_bytes_, enlarge_buffer(socket));
  const auto own = door.socket.local_endpoint(error).port();
  doors_.push_back(std::move(door));
  return own;
}

asio::awaitable<void> UdpListener::Impl::run() {
  const auto self = shared_from_this();
  co_await asio::this_coro::throw_if_cancelled(false);
  for (auto& door : doors_) {
    ++serving_;
    asio::co_spawn(executor_, serve(door), [self](const std::exception_ptr&) {
      --self->serving_;
      self->changed_.cancel();
    });
  }
  while (!stopping_) {
    (void)co_await changed_.async_wait(as_result);  // Only ever cancelled; that is the news.
    const auto state = co_await asio::this_coro::cancellation_state;
    if (state.cancelled() != asio::cancellation_type::none) stop();
  }
  co_await asio::this_coro::reset_cancellation_state(asio::disable_cancellation());
  while (serving_ > 0) (void)co_await changed_.async_wait(as_result);
}

void UdpListener::Impl::stop() {
  stopping_ = true;
  for (auto& door : doors_) {
    error_code ignored;
    (void)door.socket.close(ignored);
  }
  changed_.cancel();
}

UdpCounters UdpListener::Impl::counters() const {
  UdpCounters out = counters_;
  for (const auto& door : doors_) out.overflowed += door.overflowed;
  return out;
}

asio::awaitable<void> UdpListener::Impl::serve(Door& door) {
  const auto self = shared_from_this();
  while (!stopping_) {
    const auto [error] = co_await door.socket.async_wait(udp::socket::wait_read, as_result);
    if (error || stopping_) break;
    // A flood must not keep the loop from everything else: what is left is found by the next wait.
    std::size_t taken = 0;
    while (!stopping_ && taken < limits::datagrams_per_turn_max) {
      const std::size_t count = take_batch(door);
      taken += count;
      if (count < batch_max) break;
    }
    co_await asio::post(executor_, asio::use_awaitable);
  }
}

void UdpListener::Impl::prepare(std::size_t count) {
  for (std::size_t i = 0; i < count; ++i) {
    batch_.in[i] = {batch_.bytes[i].data(), batch_.bytes[i].size()};
    msghdr& head = batch_.received[i].msg_hdr;
    head = {};
    head.msg_name = &batch_.from[i];
    head.msg_namelen = sizeof batch_.from[i];
    head.msg_iov = &batch_.in[i];
    head.msg_iovlen = 1;
    head.msg_control = batch_.beside[i].bytes;
    head.msg_controllen = sizeof batch_.beside[i].bytes;
  }
}

/// @return how many came.
std::size_t UdpListener::Impl::take_batch(Door& door) {
  prepare(batch_max);
  const int socket = door.socket.native_handle();
  const int got = recvmmsg(socket, batch_.received.data(), batch_max, MSG_DONTWAIT, nullptr);
  if (got <= 0) return 0;
  const auto count = static_cast<std::size_t>(got);
  counters_.received += count;
  const Instant now = clock_.now();
  const WallTime wall_now = clock_.wall_now();
  std::size_t answers = 0;
  for (std::size_t i = 0; i < count; ++i) {
    msghdr& head = batch_.received[i].msg_hdr;
    // One byte more than allowed is read, so that a longer one is seen to be longer.
    const std::string_view bytes(batch_.bytes[i].data(), batch_.received[i].msg_len);
    std::string answer = desk_.take(bytes, address_of(batch_.from[i]), now, wall_now);
    look_beside(door, head);
    if (answer.empty()) continue;
    batch_.texts[answers] = std::move(answer);
    msghdr& back = batch_.answers[answers].msg_hdr;
    back = head;
    back.msg_flags = 0;
    batch_.out[answers] = {batch_.texts[answers].data(), batch_.texts[answers].size()};
    back.msg_iov = &batch_.out[answers];
    ++answers;
  }
  if (answers > 0) send_answers(door, answers);
  return count;
}

/// Takes the count of dropped ones, and leaves only the address that was written to for the answer.
void UdpListener::Impl::look_beside(Door& door, msghdr& head) {
  cmsghdr* local = nullptr;
  for (cmsghdr* at = CMSG_FIRSTHDR(&head); at != nullptr; at = CMSG_NXTHDR(&head, at)) {
    if (at->cmsg_level == SOL_SOCKET && at->cmsg_type == SO_RXQ_OVFL) {
      std::uint32_t dropped = 0;
      std::memcpy(&dropped, CMSG_DATA(at), sizeof dropped);
      door.overflowed += dropped - door.dropped;
      door.dropped = dropped;
    } else {
      local = at;
    }
  }
  if (local == nullptr) {
    head.msg_control = nullptr;
    head.msg_controllen = 0;
    return;
  }
  // The interface is the system's to choose: a reply may leave by another one than it came in by.
  if (local->cmsg_level == IPPROTO_IPV6) {
    in6_pktinfo info{};
    std::memcpy(&info, CMSG_DATA(local), sizeof info);
    if (!IN6_IS_ADDR_LINKLOCAL(&info.ipi6_addr)) info.ipi6_ifindex = 0;
    std::memcpy(CMSG_DATA(local), &info, sizeof info);
  } else {
    in_pktinfo info{};
    std::memcpy(&info, CMSG_DATA(local), sizeof info);
    info.ipi_spec_dst = info.ipi_addr;
    info.ipi_ifindex = 0;
    std::memcpy(CMSG_DATA(local), &info, sizeof info);
  }
  head.msg_control = local;
  head.msg_controllen = CMSG_ALIGN(local->cmsg_len);
}

void UdpListener::Impl::send_answers(Door& door, std::size_t count) {
  std::size_t sent = 0;
  while (sent < count) {
    const int done = sendmmsg(door.socket.native_handle(), batch_.answers.data() + sent,
                              static_cast<unsigned>(count - sent), MSG_DONTWAIT);
    if (done > 0) {
      sent += static_cast<std::size_t>(done);
      counters_.answered += static_cast<std::uint64_t>(done);
      continue;
    }
    // The first one of the rest cannot be sent; the others may have better addresses.
    ++counters_.answers_dropped;
    ++sent;
  }
}

UdpListener::UdpListener(asio::any_io_executor executor, DatagramDesk& desk, const Clock& clock)
    : impl_(std::make_shared<Impl>(std::move(executor), desk, clock)) {}
UdpListener::~UdpListener() = default;

Result<std::uint16_t> UdpListener::open(const std::string& address, std::uint16_t port) {
  return impl_->open(address, port);
}
asio::awaitable<void> UdpListener::run() {
  return impl_->run();
}
void UdpListener::stop() {
  impl_->stop();
}
UdpCounters UdpListener::counters() const {
  return impl_->counters();
}
int UdpListener::buffer_bytes() const {
  return impl_->buffer_bytes();
}

}  // namespace ebbwatch
