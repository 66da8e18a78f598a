// The request that a text message gateway wants, made from the owner's template. Pure.
#pragma once

#include <string>
#include <string_view>

#include "core/result.h"
#include "notifiers/curl_client.h"
#include "settings/settings.h"

namespace ebbwatch {

/// What stands for the placeholders {phone}, {text}, {secret}, {notice} and {report_url}.
struct TemplateValues {
  std::string phone, text, secret, notice, report_url;
};

/// Placeholders may stand in the URL, in field values and in header values. Other braces are taken
/// as they are, but a word in braces that is no placeholder is an error: most likely misspelt.
/// Errors: bad_input, naming the place.
Result<void> check_template(const SmsGatewaySettings& settings);

/// The request with every value written in the form of its place: percent-encoded in URL and form,
/// escaped in JSON, control characters removed in headers. GET: fields are the query.
OutgoingRequest fill_template(const SmsGatewaySettings& settings, const TemplateValues& values);

/// RFC 3986: everything but unreserved characters becomes %XX; good in a form as well.
std::string percent_encoded(std::string_view text);

}  // namespace ebbwatch
