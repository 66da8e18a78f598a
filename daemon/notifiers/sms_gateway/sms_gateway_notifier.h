// Notices as text messages, through any gateway that takes them over HTTP.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "core/result.h"
#include "notifiers/curl_client.h"
#include "notifiers/sms_gateway/success_pattern.h"
#include "ports/clock.h"
#include "ports/notifier.h"
#include "settings/settings.h"

namespace ebbwatch {

/// What an answer means: a status of `accepted_status` whose body matches `success` is delivered;
/// one whose body does not match is retried, since nothing tells whether it was refused for good.
/// Other statuses as http_outcome() has them, a 2xx that is not accepted being refused for good.
/// The answer is kept without the secrets.
Outcome gateway_outcome(const SmsGatewaySettings& settings, const SuccessPattern& success,
                        const Transfer& transfer, WallTime now,
                        const std::vector<std::string>& secrets);

/// `client` and `clock` must outlive the notifier. `notifier` and `public_url` say where it
/// reports. The text is the message's short_text, made safe for the GSM 7-bit alphabet once more.
/// Errors: those of read_secret and read_door_secret; bad_input for an unknown placeholder or a bad
/// regular expression.
Result<std::unique_ptr<Notifier>> make_sms_gateway_notifier(const NotifierSettings& notifier,
                                                            const Settings& settings,
                                                            CurlClient& client, Clock& clock);

}  // namespace ebbwatch
