// What the end of an HTTP request means for a notice. Pure.
#pragma once

#include "core/time.h"
#include "notifiers/curl_client.h"
#include "ports/notifier.h"

namespace ebbwatch {

/// RFC 9110, RFC 6585 and the CloudEvents webhook binding: 2xx delivered; 408, 425, 429, 500, 502,
/// 503 and 504 retry_later; every other status rejected_forever, redirects and 410 included.
Outcome::Kind http_status_kind(int status);

/// The whole outcome: a lost answer is `unknown` once the request has gone out, `retry_later`
/// before; Retry-After is obeyed with every retry_later; the text names the status and what to do
/// about it.
Outcome http_outcome(const Transfer& transfer, WallTime now);

/// Whether anybody listens at the address of `request`, without a byte of HTTP: a check that no
/// receiver takes for a notice.
boost::asio::awaitable<Outcome> reach(CurlClient& client, OutgoingRequest request);

/// Outcome of a transfer that got no final answer. @pre transfer.end is not `answered`
Outcome unanswered_outcome(const Transfer& transfer);

}  // namespace ebbwatch
