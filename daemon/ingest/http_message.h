// An HTTP request and its answer as plain data, and the small pure rules around them. What the
// listener hands to a RequestHandler; free of Beast.
#pragma once

#include <boost/asio/ip/address.hpp>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/time.h"

namespace ebbwatch {

class BodyStream;  // ingest/body_stream.h

struct HttpRequest {
  std::string method;  ///< As sent: "POST".
  std::string target;  ///< As sent, "/v1/check-in?x=1". May hold a capability: never log it.
  std::string path;    ///< Before the first `?`, still encoded.
  std::string query;   ///< After it; empty when there is none.
  std::vector<std::pair<std::string, std::string>> fields;  ///< Names in lower case.
  std::string body;
  std::string remote_address;  ///< Without port; IPv4 also for mapped addresses.

  /// The value of a field, several joined by ", " (RFC 9110 §5.3); empty when there is none.
  std::optional<std::string> field(std::string_view lower_case_name) const;
};

struct HttpResponse {
  int status = 204;
  std::string content_type;  ///< Empty: none.
  std::string body;
  std::vector<std::pair<std::string, std::string>>
      fields;  ///< Besides length, date and connection.
  /// Sent chunked after `body`, piece by piece; the connection is closed after it. Null: none.
  std::shared_ptr<BodyStream> stream;
};

/// Fills target, path and query. An absolute target (RFC 9112 §3.2.2) is cut to its path.
void set_target(HttpRequest& request, std::string_view target);

/// The value of a component of RFC 9421 (a field name or `@method`, `@authority`, `@path`,
/// `@query`,
/// `@request-target`); empty when the request does not have it or we cannot know it (`@scheme`).
std::optional<std::string> component_value(const HttpRequest& request, const std::string& name);

/// ASCII letters only.
std::string lower_case(std::string_view text);

/// One chunk of a chunked body (RFC 9112 §7.1); of nothing: the end of the body.
std::string chunk_text(const std::string& piece);

/// RFC 9110 §5.6.7: "Sun, 06 Nov 1994 08:49:37 GMT".
std::string http_date(WallTime time);

/// The standard phrase of a status that we send; "Error" for others.
std::string_view status_phrase(int status);

/// The address as text; that of an IPv4 sender also when it came in an IPv6 one.
std::string plain_address(const boost::asio::ip::address& address);

/// What counts as one sender: an IPv4 address, or the /64 network of an IPv6 one, because one house
/// has all of it. The text itself when it is no address.
std::string address_group(const std::string& address);

}  // namespace ebbwatch
