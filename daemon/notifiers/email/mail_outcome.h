// What the end of a mail submission means for a notice (RFC 5321 §4.2.1, §4.5.4). Pure.
#pragma once

#include "notifiers/curl_client.h"
#include "ports/notifier.h"

namespace ebbwatch {

/// By the first digit of the last reply: 2yz delivered, 4yz retry_later, 5yz rejected_forever. 552
/// before the text was sent means "too many recipients" on old servers and is transient. A
/// connection lost or silent after the final dot is `unknown`, before it `retry_later`.
Outcome mail_outcome(const Transfer& transfer);

}  // namespace ebbwatch
