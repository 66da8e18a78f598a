#include "notifiers/curl_client.h"

#include <curl/curl.h>
#include <strings.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <boost/asio/as_tuple.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/system/system_error.hpp>
#include <chrono>
#include <map>
#include <string_view>

#include "core/invariant.h"

namespace ebbwatch {
namespace asio = boost::asio;
using boost::system::error_code;

namespace {

struct EasyDeleter {
  void operator()(CURL* easy) const { curl_easy_cleanup(easy); }
};
struct ListDeleter {
  void operator()(curl_slist* list) const { curl_slist_free_all(list); }
};
using Easy = std::unique_ptr<CURL, EasyDeleter>;
using List = std::unique_ptr<curl_slist, ListDeleter>;

void append(List& list, const std::string& line) {
  curl_slist* longer = curl_slist_append(list.get(), line.c_str());
  INVARIANT(longer != nullptr);
  (void)list.release();  // Now owned as a part of `longer`.
  list.reset(longer);
}

// A refused option is our own mistake: all values are checked before.
template <class Value>
void set(CURL* easy, CURLoption option, Value value) {
  INVARIANT(curl_easy_setopt(easy, option, value) == CURLE_OK);
}

long milliseconds(Span span) {
  return static_cast<long>(std::max<std::int64_t>(1, span.us / 1000));
}

// One transfer: everything that curl's callbacks may touch while it runs.
struct Running {
  explicit Running(const asio::any_io_executor& executor)
      : easy(curl_easy_init()), ended(executor) {
    INVARIANT(easy != nullptr);
    ended.expires_at(asio::steady_timer::time_point::max());
  }
  ~Running() { easy.reset(); }  // First: it may still call back.
  Running(const Running&) = delete;
  Running& operator=(const Running&) = delete;
  Easy easy;
  List headers, recipients;
  std::vector<std::string> wanted;
  std::string body;
  std::size_t body_read = 0;
  bool is_mail = false;
  bool quitting = false;    // Mail: QUIT went out, nothing that follows counts.
  bool reply_ended = true;  // Mail: the next line begins a new reply.
  bool enough = false;      // We ended it ourselves because the answer is long enough.
  std::size_t header_bytes = 0;
  std::vector<int> sockets;
  Transfer transfer;
  std::array<char, CURL_ERROR_SIZE> error_text{};
  bool done = false;
  asio::steady_timer ended;  // Waits for ever; cancelled when done.
};

std::size_t on_body(char* data, std::size_t, std::size_t size, void* user) {
  auto& running = *static_cast<Running*>(user);
  std::string& answer = running.transfer.answer;
  if (running.is_mail) return size;
  answer.append(data, std::min(size, limits::answer_body_bytes_max - answer.size()));
  running.enough = answer.size() == limits::answer_body_bytes_max;
  return running.enough ? 0 : size;
}

void keep_reply_line(Running& running, std::string_view line) {
  if (running.quitting) return;
  std::string& reply = running.transfer.answer;
  if (running.reply_ended) reply.clear();
  running.reply_ended = line.size() < 4 || line[3] != '-';
  reply += line.substr(
      0, limits::answer_text_bytes_max - std::min(reply.size(), limits::answer_text_bytes_max));
}

bool same_name(std::string_view a, std::string_view b) {
  return a.size() == b.size() && strncasecmp(a.data(), b.data(), a.size()) == 0;
}

void keep_header(Running& running, std::string_view line) {
  const std::size_t colon = line.find(':');
  if (colon == line.npos) return;
  const std::string_view name = line.substr(0, colon);
  std::string_view value = line.substr(colon + 1);
  while (!value.empty() && (value.front() == ' ' || value.front() == '\t')) value.remove_prefix(1);
  while (!value.empty() && static_cast<unsigned char>(value.back()) <= ' ') value.remove_suffix(1);
  if (same_name(name, "retry-after")) running.transfer.retry_after = value;
  for (const std::string& wanted : running.wanted) {
    if (same_name(name, wanted)) running.transfer.fields.emplace_back(wanted, value);
  }
}

std::size_t on_header(char* data, std::size_t, std::size_t size, void* user) {
  auto& running = *static_cast<Running*>(user);
  running.header_bytes += size;
  if (running.header_bytes > limits::answer_header_bytes_max) return 0;
  const std::string_view line(data, size);
  if (running.is_mail) {
    keep_reply_line(running, line);
  } else {
    keep_header(running, line);
  }
  return size;
}

std::size_t on_read(char* data, std::size_t, std::size_t size, void* user) {
  auto& running = *static_cast<Running*>(user);
  const std::size_t count = running.body.copy(data, size, running.body_read);
  running.body_read += count;
  return count;
}

curl_socket_t on_open(void* user, curlsocktype, curl_sockaddr* address) {
  const int opened = socket(address->family, address->socktype | SOCK_CLOEXEC, address->protocol);
  if (opened < 0) return CURL_SOCKET_BAD;
  static_cast<Running*>(user)->sockets.push_back(opened);
  return opened;
}

int on_close(void* user, curl_socket_t closed) {
  std::erase(static_cast<Running*>(user)->sockets, closed);
  return close(closed);
}

// curl waits for the answer to QUIT with the loop standing still, for as long as the server likes.
// It tells us what it has sent before it waits: with the reading side shut it finds the end at
// once. A QUIT that did not fit into the socket would be waited for as well.
int on_debug(CURL*, curl_infotype kind, char* data, std::size_t size, void* user) {
  constexpr std::string_view quit = "QUIT\r\n";
  if (kind != CURLINFO_HEADER_OUT) return 0;
  auto& running = *static_cast<Running*>(user);
  const std::string_view sent(data, size);
  if (!quit.starts_with(sent)) return 0;
  running.quitting = true;
  for (const int socket : running.sockets) shutdown(socket, sent == quit ? SHUT_RD : SHUT_RDWR);
  return 0;
}

Transfer::End end_of(CURLcode code) {
  using End = Transfer::End;
  switch (code) {
    case CURLE_OK:
      return End::answered;
    case CURLE_COULDNT_RESOLVE_HOST:
    case CURLE_COULDNT_CONNECT:
      return End::not_connected;
    case CURLE_USE_SSL_FAILED:
      return End::not_encrypted;
    case CURLE_PEER_FAILED_VERIFICATION:
    case CURLE_SSL_CACERT_BADFILE:
      return End::not_trusted;
    case CURLE_LOGIN_DENIED:
      return End::login_refused;
    case CURLE_OPERATION_TIMEDOUT:
      return End::timed_out;
    case CURLE_URL_MALFORMAT:
    case CURLE_UNSUPPORTED_PROTOCOL:
      return End::bad_address;
    default:
      return End::broken;
  }
}

void fill(Running& running, CURLcode code) {
  Transfer& transfer = running.transfer;
  long status = 0, request_bytes = 0;
  curl_easy_getinfo(running.easy.get(), CURLINFO_RESPONSE_CODE, &status);
  curl_easy_getinfo(running.easy.get(), CURLINFO_REQUEST_SIZE, &request_bytes);
  // curl knows the size: with the last byte it has everything for the final dot.
  const bool all_read = running.body_read == running.body.size();
  transfer.status = static_cast<int>(status);
  transfer.request_sent = running.is_mail ? all_read : request_bytes > 0;
  transfer.end = running.enough ? Transfer::End::answered : end_of(code);
  if (transfer.end == Transfer::End::answered) return;
  transfer.error =
      running.error_text[0] != '\0' ? running.error_text.data() : curl_easy_strerror(code);
}

void set_common(Running& running, const std::string& url, const TransferLimits& limits) {
  CURL* easy = running.easy.get();
  set(easy, CURLOPT_URL, url.c_str());
  set(easy, CURLOPT_PRIVATE, &running);
  set(easy, CURLOPT_ERRORBUFFER, running.error_text.data());
  set(easy, CURLOPT_NOSIGNAL, 1L);
  // Without it the end of a transfer waits for a name server that does not answer.
  set(easy, CURLOPT_QUICK_EXIT, 1L);
  set(easy, CURLOPT_CONNECTTIMEOUT_MS, milliseconds(std::min(limits.connect, limits.whole)));
  set(easy, CURLOPT_TIMEOUT_MS, milliseconds(limits.whole));
  // Notices are rare: a fresh connection each leaves no doubt about what was lost with an old one.
  set(easy, CURLOPT_FRESH_CONNECT, 1L);
  set(easy, CURLOPT_FORBID_REUSE, 1L);
  set(easy, CURLOPT_PROXY, "");
  set(easy, CURLOPT_SSLVERSION, static_cast<long>(CURL_SSLVERSION_TLSv1_2));
  set(easy, CURLOPT_WRITEFUNCTION, &on_body);
  set(easy, CURLOPT_WRITEDATA, &running);
  set(easy, CURLOPT_HEADERFUNCTION, &on_header);
  set(easy, CURLOPT_HEADERDATA, &running);
  set(easy, CURLOPT_OPENSOCKETFUNCTION, &on_open);
  set(easy, CURLOPT_OPENSOCKETDATA, &running);
  set(easy, CURLOPT_CLOSESOCKETFUNCTION, &on_close);
  set(easy, CURLOPT_CLOSESOCKETDATA, &running);
}

void set_http(Running& running, const OutgoingRequest& request) {
  CURL* easy = running.easy.get();
  set(easy, CURLOPT_PROTOCOLS_STR, "http,https");
  set(easy, CURLOPT_HTTP_VERSION, static_cast<long>(CURL_HTTP_VERSION_1_1));
  set(easy, CURLOPT_FOLLOWLOCATION, 0L);
  set(easy, CURLOPT_PATH_AS_IS, 1L);  // What was signed is what is sent.
  set(easy, CURLOPT_USERAGENT, "ebbwatch");
  append(running.headers, "Expect:");
  for (const auto& [name, value] : request.headers) append(running.headers, name + ": " + value);
  set(easy, CURLOPT_HTTPHEADER, running.headers.get());
  running.wanted = request.wanted;
  if (request.only_connect) set(easy, CURLOPT_CONNECT_ONLY, 1L);
  if (request.only_connect || request.method == OutgoingRequest::Method::get) return;
  running.body = request.body;
  set(easy, CURLOPT_POST, 1L);
  set(easy, CURLOPT_POSTFIELDSIZE_LARGE, static_cast<curl_off_t>(running.body.size()));
  set(easy, CURLOPT_POSTFIELDS, running.body.data());
}

long use_ssl(MailSubmission::Encryption encryption) {
  switch (encryption) {
    case MailSubmission::Encryption::required:
      return CURLUSESSL_ALL;
    case MailSubmission::Encryption::never:
      return CURLUSESSL_NONE;
    case MailSubmission::Encryption::when_offered:
      break;
  }
  return CURLUSESSL_TRY;
}

void set_mail(Running& running, const MailSubmission& mail) {
  CURL* easy = running.easy.get();
  running.is_mail = true;
  running.body = mail.message;
  set(easy, CURLOPT_PROTOCOLS_STR, "smtp,smtps");
  set(easy, CURLOPT_USE_SSL, use_ssl(mail.encryption));
  if (!mail.ca_file.empty()) {
    set(easy, CURLOPT_CAINFO, mail.ca_file.c_str());
    set(easy, CURLOPT_CAPATH, static_cast<const char*>(nullptr));
  }
  if (!mail.user.empty()) {
    set(easy, CURLOPT_USERNAME, mail.user.c_str());
    set(easy, CURLOPT_PASSWORD, mail.password.c_str());
  }
  set(easy, CURLOPT_VERBOSE, 1L);
  set(easy, CURLOPT_DEBUGFUNCTION, &on_debug);
  set(easy, CURLOPT_DEBUGDATA, &running);
  if (mail.recipient.empty()) {
    set(easy, CURLOPT_CUSTOMREQUEST, "NOOP");
    return;
  }
  set(easy, CURLOPT_MAIL_FROM, ("<" + mail.sender + ">").c_str());
  append(running.recipients, "<" + mail.recipient + ">");
  set(easy, CURLOPT_MAIL_RCPT, running.recipients.get());
  set(easy, CURLOPT_UPLOAD, 1L);
  set(easy, CURLOPT_INFILESIZE_LARGE, static_cast<curl_off_t>(running.body.size()));
  set(easy, CURLOPT_READFUNCTION, &on_read);
  set(easy, CURLOPT_READDATA, &running);
}

}  // namespace

// Joins curl's multi interface to the I/O loop: curl says which sockets and which time it waits
// for.
class CurlClient::Loop : public std::enable_shared_from_this<Loop> {
 public:
  explicit Loop(asio::any_io_executor executor)
      : executor_(std::move(executor)), multi_(open()), timer_(executor_) {
    curl_multi_setopt(multi_, CURLMOPT_SOCKETFUNCTION, &Loop::on_socket);
    curl_multi_setopt(multi_, CURLMOPT_SOCKETDATA, this);
    curl_multi_setopt(multi_, CURLMOPT_TIMERFUNCTION, &Loop::on_timer);
    curl_multi_setopt(multi_, CURLMOPT_TIMERDATA, this);
  }
  ~Loop() {
    curl_multi_setopt(multi_, CURLMOPT_SOCKETFUNCTION, nullptr);
    curl_multi_setopt(multi_, CURLMOPT_TIMERFUNCTION, nullptr);
    for (auto& [fd, watch] : watches_) watch->descriptor.release();
    curl_multi_cleanup(multi_);
  }
  Loop(const Loop&) = delete;
  Loop& operator=(const Loop&) = delete;

  const asio::any_io_executor& executor() const { return executor_; }
  asio::awaitable<Transfer> run(std::unique_ptr<Running> running);

 private:
  struct Watch {
    Watch(const asio::any_io_executor& executor, int fd) : descriptor(executor, fd) {}
    asio::posix::stream_descriptor descriptor;
    int wanted = CURL_POLL_NONE;
    bool reading = false, writing = false, gone = false;
  };
  // Takes the transfer out of curl, also when its coroutine is destroyed halfway.
  struct Membership {
    Membership(std::shared_ptr<Loop> in, Running& of) : loop(std::move(in)), running(of) {
      INVARIANT(curl_multi_add_handle(loop->multi_, running.easy.get()) == CURLM_OK);
    }
    ~Membership() {
      if (!running.done) curl_multi_remove_handle(loop->multi_, running.easy.get());
    }
    Membership(const Membership&) = delete;
    Membership& operator=(const Membership&) = delete;
    std::shared_ptr<Loop> loop;
    Running& running;
  };

  static CURLM* open();
  static int on_socket(CURL*, curl_socket_t fd, int what, void* loop, void*);
  static int on_timer(CURLM*, long wait_ms, void* loop);
  void wait_for(const std::shared_ptr<Watch>& watch, int fd);
  void wait_one(const std::shared_ptr<Watch>& watch, int fd, bool reading);
  void act(int fd, int ready);

  asio::any_io_executor executor_;
  CURLM* multi_;
  asio::steady_timer timer_;
  std::map<int, std::shared_ptr<Watch>> watches_;
};

CURLM* CurlClient::Loop::open() {
  static const CURLcode initialised = curl_global_init(CURL_GLOBAL_DEFAULT);
  INVARIANT(initialised == CURLE_OK);
  CURLM* multi = curl_multi_init();
  INVARIANT(multi != nullptr);
  return multi;
}

int CurlClient::Loop::on_socket(CURL*, curl_socket_t fd, int what, void* loop, void*) {
  auto& self = *static_cast<Loop*>(loop);
  auto found = self.watches_.find(fd);
  if (what == CURL_POLL_REMOVE) {
    if (found == self.watches_.end()) return 0;
    found->second->gone = true;
    found->second->descriptor.release();  // curl owns the socket and closes it.
    self.watches_.erase(found);
    return 0;
  }
  if (found == self.watches_.end()) {
    found = self.watches_.emplace(fd, std::make_shared<Watch>(self.executor_, fd)).first;
  }
  found->second->wanted = what;
  self.wait_for(found->second, fd);
  return 0;
}

int CurlClient::Loop::on_timer(CURLM*, long wait_ms, void* loop) {
  auto& self = *static_cast<Loop*>(loop);
  if (wait_ms < 0) {
    self.timer_.cancel();
    return 0;
  }
  self.timer_.expires_after(std::chrono::milliseconds(wait_ms));
  self.timer_.async_wait([weak = self.weak_from_this()](error_code error) {
    const auto alive = weak.lock();
    if (alive && !error) alive->act(CURL_SOCKET_TIMEOUT, 0);
  });
  return 0;
}

void CurlClient::Loop::wait_for(const std::shared_ptr<Watch>& watch, int fd) {
  if ((watch->wanted & CURL_POLL_IN) != 0 && !watch->reading) wait_one(watch, fd, true);
  if ((watch->wanted & CURL_POLL_OUT) != 0 && !watch->writing) wait_one(watch, fd, false);
}

void CurlClient::Loop::wait_one(const std::shared_ptr<Watch>& watch, int fd, bool reading) {
  (reading ? watch->reading : watch->writing) = true;
  const auto kind =
      reading ? asio::posix::descriptor_base::wait_read : asio::posix::descriptor_base::wait_write;
  watch->descriptor.async_wait(
      kind, [weak = weak_from_this(), watch, fd, reading](error_code error) {
        (reading ? watch->reading : watch->writing) = false;
        const auto self = weak.lock();
        if (!self || watch->gone || error == asio::error::operation_aborted) return;
        const int wanted = reading ? CURL_POLL_IN : CURL_POLL_OUT;
        const int ready = reading ? CURL_CSELECT_IN : CURL_CSELECT_OUT;
        if ((watch->wanted & wanted) != 0) self->act(fd, error ? CURL_CSELECT_ERR : ready);
        if (!watch->gone) self->wait_for(watch, fd);
      });
}

void CurlClient::Loop::act(int fd, int ready) {
  int still_running = 0, left = 0;
  curl_multi_socket_action(multi_, fd, ready, &still_running);
  while (const CURLMsg* message = curl_multi_info_read(multi_, &left)) {
    if (message->msg != CURLMSG_DONE) continue;
    const CURLcode code = message->data.result;
    CURL* easy = message->easy_handle;
    Running* running = nullptr;
    curl_easy_getinfo(easy, CURLINFO_PRIVATE, &running);
    fill(*running, code);
    curl_multi_remove_handle(multi_, easy);  // `message` is no more.
    running->done = true;
    running->ended.cancel();
  }
}

asio::awaitable<Transfer> CurlClient::Loop::run(std::unique_ptr<Running> running) {
  const Membership membership(shared_from_this(), *running);
  while (!running->done) {
    const auto [error] = co_await running->ended.async_wait(asio::as_tuple(asio::use_awaitable));
    if (!running->done) throw boost::system::system_error(error);
  }
  co_return std::move(running->transfer);
}

CurlClient::CurlClient(asio::any_io_executor executor, TransferLimits limits)
    : loop_(std::make_shared<Loop>(std::move(executor))), limits_(limits) {}

CurlClient::~CurlClient() = default;

asio::awaitable<Transfer> CurlClient::request(OutgoingRequest request) {
  auto running = std::make_unique<Running>(loop_->executor());
  set_common(*running, request.url, limits_);
  set_http(*running, request);
  co_return co_await loop_->run(std::move(running));
}

asio::awaitable<Transfer> CurlClient::submit(MailSubmission mail) {
  auto running = std::make_unique<Running>(loop_->executor());
  std::string url = mail.url;
  if (url.ends_with('/')) url.pop_back();
  TransferLimits shortened = limits_;
  shortened.whole = std::min(limits_.whole, mail.time_limit);
  set_common(*running, url + "/" + mail.helo_name, shortened);
  set_mail(*running, mail);
  co_return co_await loop_->run(std::move(running));
}

}  // namespace ebbwatch
