// Problem documents, RFC 9457: what went wrong with a request and what to change. No secrets.
#pragma once

#include <string>

#include "ingest/http_message.h"

namespace ebbwatch {

/// An answer with an application/problem+json body: `type` about:blank, `title` the status phrase
/// (as the RFC asks for with about:blank), `status`, `detail`.
/// @param detail sentences for people; outside text in it must be quoted already.
HttpResponse problem(int status, const std::string& detail);

}  // namespace ebbwatch
