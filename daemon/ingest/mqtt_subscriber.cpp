#include "ingest/mqtt_subscriber.h"

#include <fcntl.h>
#include <mosquitto.h>
#include <mqtt_protocol.h>
#include <netdb.h>
#include <poll.h>
#include <sys/eventfd.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <boost/asio/post.hpp>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <semaphore>
#include <thread>

#include "core/invariant.h"
#include "core/limits.h"

namespace ebbwatch {
namespace {

constexpr int qos = 1;
constexpr int refused_subscription = 0x80;  // MQTT 3.1.1 §3.9.3; MQTT 5 has more from there on.
constexpr int not_this_version_3 = 1;       // MQTT 3.1.1 §3.2.2.3
constexpr const char* system_certificates = "/etc/ssl/certs";
constexpr const char* no_topic = "ebbwatch/is-anybody-there";  // Never subscribed to.

/// A file descriptor that closes itself.
class Descriptor {
 public:
  explicit Descriptor(int number) : number_(number) {}
  ~Descriptor() {
    if (number_ >= 0) ::close(number_);
  }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  int number() const { return number_; }

 private:
  int number_;
};

}  // namespace

class MqttSubscriber::Impl {
 public:
  Impl(boost::asio::any_io_executor loop, const Clock& clock, MqttBroker broker, Handlers handlers)
      : loop_(std::move(loop)),
        clock_(clock),
        broker_(std::move(broker)),
        handlers_(std::make_shared<Handlers>(std::move(handlers))),
        bell_(eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK)) {
    INVARIANT(bell_.number() >= 0);
    static const int library = mosquitto_lib_init();
    INVARIANT(library == MOSQ_ERR_SUCCESS);
  }
  ~Impl() {
    stop();
    if (thread_.joinable()) thread_.join();
  }
  Impl(const Impl&) = delete;
  Impl& operator=(const Impl&) = delete;

  void start() {
    thread_ = std::thread([this] { live(); });
  }
  void stop() {
    handlers_.reset();
    stopping_ = true;
    const std::uint64_t one = 1;
    // A full counter would mean that it rings already.
    [[maybe_unused]] const auto rung = write(bell_.number(), &one, sizeof one);
  }

 private:
  /// One connection, as far as it has got.
  struct Session {
    bool answered = false;  ///< It has said yes or no to us.
    bool granted = false;   ///< Our topic is subscribed to.
    std::string why;        ///< Set: the session is over.
    std::string library;    ///< The library's newest own words about a failure.
    Instant began;
    Instant asked;  ///< The newest question that waits for an answer.
    Instant proven;
    bool waits = false;
  };
  using Connection = std::unique_ptr<mosquitto, decltype(&mosquitto_destroy)>;

  // All of these on the thread.
  void live();
  void run_session();
  bool reachable();
  bool opens(const addrinfo& address);
  bool wait_for(int descriptor, short events, Span at_most);
  Connection prepare();
  int open(mosquitto* connection);
  void serve(mosquitto* connection);
  void look_after(mosquitto* connection);
  void subscribe(mosquitto* connection);
  void proven();
  void end(const std::string& why) {
    if (session_.why.empty()) session_.why = why;
  }
  std::string words(int error) const;
  void hand_over(std::function<void(const Handlers&)> what);
  void tell(bool answers, const std::string& why);

  static Impl& of(void* self) { return *static_cast<Impl*>(self); }
  static void on_connect(mosquitto*, void*, int reason, int, const mosquitto_property*);
  static void on_subscribe(mosquitto*, void*, int, int, const int* granted,
                           const mosquitto_property*);
  static void on_unsubscribe(mosquitto*, void*, int, const mosquitto_property*);
  static void on_message(mosquitto*, void*, const mosquitto_message*, const mosquitto_property*);
  static void on_disconnect(mosquitto*, void*, int reason, const mosquitto_property*);
  static void on_log(mosquitto*, void*, int level, const char* text);

  boost::asio::any_io_executor loop_;
  const Clock& clock_;
  MqttBroker broker_;
  // The loop's: what was handed over and is not yet done finds it gone after stop().
  std::shared_ptr<Handlers> handlers_;
  std::weak_ptr<Handlers> handed_ = handlers_;
  Descriptor bell_;
  std::atomic<bool> stopping_{false};
  using Room = std::counting_semaphore<limits::mqtt_messages_waiting_max>;
  std::shared_ptr<Room> room_ = std::make_shared<Room>(limits::mqtt_messages_waiting_max);
  std::thread thread_;
  Session session_;
  int version_ = MQTT_PROTOCOL_V5;
};

void MqttSubscriber::Impl::live() {
  Span wait = limits::mqtt_retry_first;
  while (!stopping_) {
    session_ = Session{};
    session_.began = session_.proven = clock_.now();
    run_session();
    if (stopping_) return;
    tell(false, session_.why);
    if (session_.granted) wait = limits::mqtt_retry_first;
    (void)wait_for(-1, 0, wait);
    wait = std::min(wait * 2, limits::mqtt_retry_last);
  }
}

void MqttSubscriber::Impl::run_session() {
  if (!reachable()) return;
  const Connection connection = prepare();
  if (!session_.why.empty()) return;
  const int opened = open(connection.get());
  if (opened != MOSQ_ERR_SUCCESS) {
    end(words(opened));
    return;
  }
  serve(connection.get());
  if (stopping_) {
    mosquitto_disconnect(connection.get());
    mosquitto_loop_write(connection.get(), 1);
  }
  // An older broker hangs up on what it does not understand, or says so.
  if (!session_.granted && !session_.answered && !stopping_) {
    version_ = version_ == MQTT_PROTOCOL_V5 ? MQTT_PROTOCOL_V311 : MQTT_PROTOCOL_V5;
  }
}

/// Whether anything listens there. The library itself would wait minutes for a host that is off.
bool MqttSubscriber::Impl::reachable() {
  addrinfo hints{};
  hints.ai_socktype = SOCK_STREAM;
  addrinfo* found = nullptr;
  const int failed =
      getaddrinfo(broker_.host.c_str(), std::to_string(broker_.port).c_str(), &hints, &found);
  if (failed != 0) {
    end("its name cannot be looked up: " + std::string(gai_strerror(failed)));
    return false;
  }
  const std::unique_ptr<addrinfo, decltype(&freeaddrinfo)> owned(found, &freeaddrinfo);
  for (const addrinfo* one = found; one != nullptr && !stopping_; one = one->ai_next) {
    if (opens(*one)) return true;
  }
  end(session_.library);
  return false;
}

bool MqttSubscriber::Impl::opens(const addrinfo& address) {
  const Descriptor probe(socket(address.ai_family, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0));
  int error = errno;
  if (probe.number() >= 0) {
    if (connect(probe.number(), address.ai_addr, address.ai_addrlen) == 0) return true;
    error = errno;
    if (error == EINPROGRESS) {
      error = ETIMEDOUT;
      socklen_t size = sizeof error;
      if (wait_for(probe.number(), POLLOUT, limits::mqtt_connect_time_max)) {
        (void)getsockopt(probe.number(), SOL_SOCKET, SO_ERROR, &error, &size);
      }
      if (error == 0) return true;
    }
  }
  session_.library = std::strerror(error);
  return false;
}

/// @return whether the descriptor is ready; false after the time or when all stops.
bool MqttSubscriber::Impl::wait_for(int descriptor, short events, Span at_most) {
  const Instant until = clock_.now() + at_most;
  while (!stopping_) {
    pollfd looked[2] = {{bell_.number(), POLLIN, 0}, {descriptor, events, 0}};
    const Span left = until - clock_.now();
    if (left.us <= 0) return false;
    const int ready = poll(looked, 2, static_cast<int>(left.us / 1000 + 1));
    if (ready > 0 && looked[1].revents != 0) return true;
  }
  return false;
}

MqttSubscriber::Impl::Connection MqttSubscriber::Impl::prepare() {
  Connection connection(mosquitto_new(broker_.client.c_str(), true, this), &mosquitto_destroy);
  mosquitto* const raw = connection.get();
  INVARIANT(raw != nullptr);
  mosquitto_int_option(raw, MOSQ_OPT_PROTOCOL_VERSION, version_);
  if (!broker_.user.empty()) {
    mosquitto_username_pw_set(raw, broker_.user.c_str(),
                              broker_.password.empty() ? nullptr : broker_.password.c_str());
  }
  if (broker_.tls) {
    const bool own = !broker_.ca_file.empty();
    const int set =
        mosquitto_tls_set(raw, own ? broker_.ca_file.c_str() : nullptr,
                          own ? nullptr : system_certificates, nullptr, nullptr, nullptr);
    constexpr int verify_peer = 1;
    if (set != MOSQ_ERR_SUCCESS) end("ca_file cannot be used: " + words(set));
    mosquitto_tls_opts_set(raw, verify_peer, "tlsv1.2", nullptr);  // And later.
  }
  mosquitto_connect_v5_callback_set(raw, on_connect);
  mosquitto_subscribe_v5_callback_set(raw, on_subscribe);
  mosquitto_unsubscribe_v5_callback_set(raw, on_unsubscribe);
  mosquitto_message_v5_callback_set(raw, on_message);
  mosquitto_disconnect_v5_callback_set(raw, on_disconnect);
  mosquitto_log_callback_set(raw, on_log);
  return connection;
}

int MqttSubscriber::Impl::open(mosquitto* connection) {
  mosquitto_property* wishes = nullptr;
  if (version_ == MQTT_PROTOCOL_V5) {
    mosquitto_property_add_int32(&wishes, MQTT_PROP_MAXIMUM_PACKET_SIZE,
                                 limits::mqtt_packet_bytes_max);
  }
  const int opened = mosquitto_connect_bind_v5(
      connection, broker_.host.c_str(), broker_.port,
      static_cast<int>(limits::mqtt_keep_alive.us / 1'000'000), nullptr, wishes);
  mosquitto_property_free_all(&wishes);
  return opened;
}

void MqttSubscriber::Impl::serve(mosquitto* connection) {
  constexpr Span look_every = Span::of_s(1), calm_every = Span::of_s(5);
  while (!stopping_ && session_.why.empty()) {
    const int descriptor = mosquitto_socket(connection);
    if (descriptor < 0) return end(words(MOSQ_ERR_CONN_LOST));
    const bool writes = mosquitto_want_write(connection);
    const Span wait = session_.waits || !session_.granted ? look_every : calm_every;
    const auto events = static_cast<short>(writes ? POLLIN | POLLOUT : POLLIN);
    int done = MOSQ_ERR_SUCCESS;
    if (wait_for(descriptor, events, wait)) {
      done = mosquitto_loop_read(connection, 1);
      if (done == MOSQ_ERR_SUCCESS && writes) done = mosquitto_loop_write(connection, 1);
    }
    if (done == MOSQ_ERR_SUCCESS) done = mosquitto_loop_misc(connection);
    if (done != MOSQ_ERR_SUCCESS) return end(words(done));
    look_after(connection);
  }
}

/// Asks from time to time whether the broker answers: it must answer also that we unsubscribe from
/// what we never subscribed to (MQTT 3.1.1 §3.10.4). The keep-alive is answered, too, but the
/// library does not tell.
void MqttSubscriber::Impl::look_after(mosquitto* connection) {
  const Instant now = clock_.now();
  if (!session_.granted) {
    if (now - session_.began > limits::mqtt_connect_time_max) end("it does not answer");
    return;
  }
  if (session_.waits) {
    if (now - session_.asked > limits::mqtt_answer_time_max) end("it does not answer any more");
  } else if (now - session_.proven >= limits::mqtt_prove_every) {
    session_.asked = now;
    session_.waits = true;
    const int asked = mosquitto_unsubscribe(connection, nullptr, no_topic);
    if (asked != MOSQ_ERR_SUCCESS) end(words(asked));
  }
}

void MqttSubscriber::Impl::subscribe(mosquitto* connection) {
  std::vector<char*> topics;
  for (std::string& topic : broker_.topics) topics.push_back(topic.data());
  const int done = mosquitto_subscribe_multiple(
      connection, nullptr, static_cast<int>(topics.size()), topics.data(), qos, 0, nullptr);
  if (done != MOSQ_ERR_SUCCESS) end(words(done));
}

void MqttSubscriber::Impl::proven() {
  session_.proven = clock_.now();
  session_.waits = false;
  tell(true, "");
}

std::string MqttSubscriber::Impl::words(int error) const {
  std::string text = error == MOSQ_ERR_ERRNO ? std::strerror(errno) : mosquitto_strerror(error);
  if (text.ends_with('.')) text.pop_back();
  return session_.library.empty() ? text : text + " (" + session_.library + ")";
}

void MqttSubscriber::Impl::tell(bool answers, const std::string& why) {
  hand_over([answers, why](const Handlers& to) { to.link(answers, why); });
}

void MqttSubscriber::Impl::hand_over(std::function<void(const Handlers&)> what) {
  while (!room_->try_acquire_for(std::chrono::milliseconds(100))) {
    if (stopping_) return;
  }
  boost::asio::post(loop_, [handlers = handed_, room = room_, what = std::move(what)] {
    room->release();
    if (const auto alive = handlers.lock()) what(*alive);
  });
}

void MqttSubscriber::Impl::on_connect(mosquitto* connection, void* self, int reason, int,
                                      const mosquitto_property*) {
  Impl& it = of(self);
  const bool other_version =
      reason == not_this_version_3 || reason == MQTT_RC_UNSUPPORTED_PROTOCOL_VERSION;
  it.session_.answered = !other_version;
  if (reason == 0) return it.subscribe(connection);
  std::string why = it.version_ == MQTT_PROTOCOL_V5 ? mosquitto_reason_string(reason)
                                                    : mosquitto_connack_string(reason);
  if (why.ends_with('.')) why.pop_back();
  it.end("it refuses us: " + why);
}

void MqttSubscriber::Impl::on_subscribe(mosquitto*, void* self, int, int, const int* granted,
                                        const mosquitto_property*) {
  Impl& it = of(self);
  if (granted[0] >= refused_subscription) {
    return it.end("it does not let us read " + it.broker_.topics.front());
  }
  it.session_.granted = true;
  it.proven();
}

void MqttSubscriber::Impl::on_unsubscribe(mosquitto*, void* self, int, const mosquitto_property*) {
  of(self).proven();
}

void MqttSubscriber::Impl::on_message(mosquitto*, void* self, const mosquitto_message* came,
                                      const mosquitto_property*) {
  BrokerMessage message;
  message.topic = came->topic;
  // One byte more than allowed is kept, so that a longer one is seen to be longer.
  const auto bytes = std::min<std::size_t>(static_cast<std::size_t>(came->payloadlen),
                                           limits::check_in_body_bytes_max + 1);
  if (bytes > 0) message.payload.assign(static_cast<const char*>(came->payload), bytes);
  message.retained = came->retain;
  of(self).hand_over([message](const Handlers& to) { to.message(message); });
}

void MqttSubscriber::Impl::on_disconnect(mosquitto*, void* self, int reason,
                                         const mosquitto_property*) {
  Impl& it = of(self);
  if (it.stopping_) return;
  // The library's own errors are small numbers, the broker's reasons (MQTT 5) begin at 128.
  it.end(reason >= 128 ? "it ended the connection: " + std::string(mosquitto_reason_string(reason))
                       : "the connection ended: " + it.words(reason));
}

void MqttSubscriber::Impl::on_log(mosquitto*, void* self, int level, const char* text) {
  if (level == MOSQ_LOG_ERR || level == MOSQ_LOG_WARNING) of(self).session_.library = text;
}

MqttSubscriber::MqttSubscriber(boost::asio::any_io_executor loop, const Clock& clock,
                               MqttBroker broker, Handlers handlers)
    : impl_(
          std::make_unique<Impl>(std::move(loop), clock, std::move(broker), std::move(handlers))) {}
MqttSubscriber::~MqttSubscriber() = default;

void MqttSubscriber::start() {
  impl_->start();
}
void MqttSubscriber::stop() {
  impl_->stop();
}

}  // namespace ebbwatch
