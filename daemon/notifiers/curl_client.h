// HTTP requests and mail submissions by libcurl, driven by the I/O loop: the only user of libcurl.
// All calls on the loop's thread. Nothing here blocks: names are looked up by curl's own thread,
// sockets and timers wait in Asio, and a server that hangs costs no more than the time limits.
// Redirects are not followed, proxies of the environment are not used, certificates are verified.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <cstdint>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "core/limits.h"
#include "core/time.h"

namespace ebbwatch {

struct OutgoingRequest {
  enum class Method : std::uint8_t { get, post };
  Method method = Method::get;
  std::string url;  ///< http:// or https://
  std::vector<std::pair<std::string, std::string>> headers;
  std::string body;                 ///< Sent with `post` only.
  std::vector<std::string> wanted;  ///< Fields of the answer to be kept, in lower case.
  bool only_connect = false;        ///< Name, connection and TLS, but not a byte of HTTP.
};

struct MailSubmission {
  enum class Encryption : std::uint8_t { when_offered, required, never };
  std::string url;                                   ///< smtp://host:port or smtps://host:port
  Encryption encryption = Encryption::when_offered;  ///< STARTTLS; of no meaning with smtps.
  std::string helo_name;                             ///< How we introduce ourselves.
  std::string user, password;                        ///< Empty user: no authentication.
  std::string ca_file;    ///< Trusted instead of the system's certificates; empty: those.
  std::string sender;     ///< Return path, address only.
  std::string recipient;  ///< Address only. Empty: log in, say NOOP and leave.
  std::string message;    ///< RFC 5322, CR LF lines; dot stuffing is done here.
  Span time_limit = Span::longest();  ///< Of the whole, where shorter than the client's.
};

/// How a transfer ended, and what the other side said.
struct Transfer {
  enum class End : std::uint8_t {
    answered,       ///< The other side gave its final answer: see `status`.
    not_connected,  ///< Name not found, nobody listening, no route.
    not_encrypted,  ///< Encryption was required and is not offered.
    not_trusted,    ///< The certificate does not prove who the other side is.
    login_refused,  ///< SMTP authentication failed, or no common mechanism.
    timed_out,
    broken,       ///< Connection or TLS handshake lost, or an answer that makes no sense.
    bad_address,  ///< The URL is malformed or of an unknown kind.
  };
  End end = End::broken;
  int status = 0;             ///< HTTP status or last SMTP reply code; 0: none came.
  bool request_sent = false;  ///< All of it, mail up to the final dot, may have been received.
  std::string answer;         ///< HTTP: body, at most answer_body_bytes_max. SMTP: the last reply.
  std::string retry_after;    ///< Value of that HTTP header.
  std::vector<std::pair<std::string, std::string>> fields;  ///< Those that were wanted.
  std::string error;  ///< For the log when `end` is not `answered`; no secrets.
};

struct TransferLimits {
  Span connect = limits::connect_time_max;
  Span whole = limits::transfer_time_max;
};

class CurlClient {
 public:
  explicit CurlClient(boost::asio::any_io_executor executor, TransferLimits limits = {});
  /// @pre every transfer has ended.
  ~CurlClient();
  CurlClient(const CurlClient&) = delete;
  CurlClient& operator=(const CurlClient&) = delete;

  /// Both end within `limits.whole` and throw on cancellation by Asio only.
  boost::asio::awaitable<Transfer> request(OutgoingRequest request);
  boost::asio::awaitable<Transfer> submit(MailSubmission mail);

 private:
  class Loop;
  std::shared_ptr<Loop> loop_;
  TransferLimits limits_;
};

}  // namespace ebbwatch
