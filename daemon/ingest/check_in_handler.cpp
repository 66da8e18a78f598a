#include "ingest/check_in_handler.h"

#include <algorithm>

#include "crypto/controller_key.h"
#include "ingest/problem.h"

namespace ebbwatch {
namespace {

constexpr std::string_view capability_prefix = "/v1/c/";

/// RFC 9110 §10.2.3 knows whole seconds only; rounded up, so that an obedient sender is on time.
std::string retry_after_text(Span wait) {
  return std::to_string(std::max<std::int64_t>(1, (wait.us + 999'999) / 1'000'000));
}

HttpResponse not_allowed(const std::string& allow) {
  auto out = problem(405, "Allowed here: " + allow + ". Use one of them.");
  out.fields.emplace_back("Allow", allow);
  return out;
}

/// A capability's fields come in the address; a POST may also bring them in its body.
Result<ParsedCheckIn> parsed_of(const HttpRequest& request, bool in_address) {
  if (in_address && (!request.query.empty() || request.method == "GET")) {
    return parse_check_in_form(request.query);
  }
  return parse_check_in(request.field("content-type").value_or(""), request.body);
}

}  // namespace

boost::asio::awaitable<HttpResponse> CheckInHandler::handle(HttpRequest request) {
  co_return answer(request);
}

HttpResponse CheckInHandler::answer(const HttpRequest& request) {
  auto out = route(request);
  // An address with a capability must not stay in caches nor travel as a referrer.
  out.fields.emplace_back("Cache-Control", "no-store");
  out.fields.emplace_back("Referrer-Policy", "no-referrer");
  return out;
}

HttpResponse CheckInHandler::route(const HttpRequest& request) {
  if (request.path == "/v1/check-in") {
    return request.method == "POST" ? take(request, {}) : not_allowed("POST");
  }
  std::string_view key = request.path;
  if (key.starts_with(capability_prefix)) {
    key.remove_prefix(capability_prefix.size());
    const bool known_method = request.method == "GET" || request.method == "POST";
    if (!key.empty()) return known_method ? take(request, key) : not_allowed("GET, POST");
  }
  return problem(404, "Nothing is here. Check-ins go to POST /v1/check-in, or to /v1/c/KEY.");
}

HttpResponse CheckInHandler::take(const HttpRequest& request, std::string_view capability) {
  const Instant now = clock_.now();
  const auto verdict = admission_.admit(request, capability, now, clock_.wall_now());
  if (const auto* refusal = std::get_if<Refusal>(&verdict)) {
    auto out = refuse(request, "", refusal->status, refusal->detail);
    out.fields = refusal->fields;
    if (refusal->retry_after) {
      out.fields.emplace_back("Retry-After", retry_after_text(*refusal->retry_after));
    }
    return out;
  }
  const auto& credential = std::get<Credential>(verdict);
  const auto parsed = parsed_of(request, !capability.empty());
  if (!parsed) return refuse(request, credential.controller, 400, parsed.error().text);
  const auto& named = parsed.value().controller;
  if (named && *named != credential.controller) {
    return refuse(request, credential.controller, 403,
                  "controller: found \"" + *named + "\", but the credential is that of \"" +
                      credential.controller + "\". Use the key of " + *named +
                      ", or leave controller out.");
  }
  const auto taken = sink_.accept(credential, parsed.value(), request.remote_address, now);
  if (taken == CheckInAnswer::taken) return HttpResponse{};
  if (taken == CheckInAnswer::unknown_controller) {
    return refuse(request, credential.controller, 403,
                  "The key is that of \"" + credential.controller +
                      "\", which is not in this watcher's configuration. Add it there and reload.");
  }
  auto out = refuse(request, credential.controller, 503,
                    "This watcher cannot take check-ins just now. Try again in 10 s.");
  out.fields.emplace_back("Retry-After", "10");
  return out;
}

HttpResponse CheckInHandler::refuse(const HttpRequest& request, const std::string& controller,
                                    int status, const std::string& detail) {
  const std::string told = without_keys(detail);
  sink_.refused(status, controller, request.remote_address, told);
  return problem(status, told);
}

}  // namespace ebbwatch
