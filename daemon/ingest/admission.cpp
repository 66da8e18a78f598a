#include "ingest/admission.h"

#include "core/limits.h"
#include "crypto/controller_key.h"
#include "ingest/check_in_fields.h"

namespace ebbwatch {
namespace {

constexpr Span created_tolerance = Span::of_s(300);
// From the earliest to the latest moment at which a `created` is good, whose seconds are rounded.
constexpr Span nonces_kept = created_tolerance * 2 + Span::of_s(2);
constexpr std::size_t nonce_chars_max = 64;

std::string_view as_text(const Sha256& hash) {
  return {reinterpret_cast<const char*>(hash.data()), hash.size()};
}

Refusal unauthorized(std::string detail) {
  return {.status = 401,
          .detail = std::move(detail),
          .retry_after = std::nullopt,
          .fields = {{"WWW-Authenticate", "Bearer realm=\"check-in\""}}};
}

Refusal malformed(std::string detail) {
  return {.status = 400, .detail = std::move(detail), .retry_after = std::nullopt, .fields = {}};
}

Refusal wait_first(std::string detail, Span wait) {
  return {.status = 429, .detail = std::move(detail), .retry_after = wait, .fields = {}};
}

const SignatureRules& rules() {
  static const SignatureRules rules{
      .required = {"@method", "@authority", "@path", "content-digest"},
      .created_tolerance = created_tolerance,
      .clock_excused = false};
  return rules;
}

bool scheme_is_bearer(std::string_view scheme) {
  constexpr std::string_view wanted = "bearer";
  if (scheme.size() != wanted.size()) return false;
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    if ((scheme[i] | 0x20) != wanted[i]) return false;
  }
  return true;
}

/// The member `sha-256` of a Content-Digest field, compared with the body.
Result<void> check_digest(const HttpRequest& request) {
  const auto field = request.field("content-digest");
  if (!field) return Error{Errc::bad_input, "Content-Digest is missing; send the body's sha-256."};
  const std::string wanted = content_digest(request.body);
  std::string_view rest = *field;
  while (!rest.empty()) {
    const auto end = rest.find(',');
    std::string_view member = rest.substr(0, end);
    rest.remove_prefix(end == std::string_view::npos ? rest.size() : end + 1);
    while (member.starts_with(' ')) member.remove_prefix(1);
    while (member.ends_with(' ')) member.remove_suffix(1);
    if (!member.starts_with("sha-256=")) continue;
    if (member == wanted) return {};
    return Error{Errc::bad_input,
                 "Content-Digest does not fit the body; compute it over the bytes sent."};
  }
  return Error{Errc::bad_input, "Content-Digest has no sha-256; send sha-256=:BASE64:."};
}

}  // namespace

Admission::Admission(Entropy& entropy) : nonces_(nonces_kept), given_(entropy) {}

Verdict Admission::admit(const HttpRequest& request, std::string_view capability, Instant now,
                         WallTime wall_now) {
  Verdict verdict;
  if (!capability.empty()) {
    verdict = by_key(capability, Credential::Kind::capability);
  } else if (request.field("signature-input") || request.field("signature")) {
    verdict = by_signature(request, now, wall_now);
  } else {
    verdict = by_bearer(request);
  }
  if (auto* refusal = std::get_if<Refusal>(&verdict)) {
    return count_failure(std::move(*refusal), request, now);
  }
  const auto& credential = std::get<Credential>(verdict);
  // A signature has been held back by its own speed already, before its nonce was used up.
  if (credential.kind == Credential::Kind::signature) return verdict;
  if (auto slow_down = too_fast(credential.controller, now)) return *slow_down;
  return verdict;
}

Verdict Admission::by_key(std::string_view key, Credential::Kind kind) const {
  const auto hash = key_hash(key);
  const std::string* controller = hash ? keys_.controller_of(*hash) : nullptr;
  if (controller == nullptr) {
    return unauthorized(
        "This key is not known here; a newer one may have replaced it. Make one with: ebbwatch "
        "enrol CONTROLLER.");
  }
  return Credential{.kind = kind, .controller = *controller};
}

bool Admission::is_key_of(std::string_view key, const std::string& controller) const {
  const auto hash = key_hash(key);
  const std::string* holder = hash ? keys_.controller_of(*hash) : nullptr;
  return holder != nullptr && *holder == controller;
}

Verdict Admission::by_bearer(const HttpRequest& request) const {
  const auto field = request.field("authorization");
  if (!field) {
    return unauthorized(
        "No credential came. Send Authorization: Bearer KEY, with the key that "
        "ebbwatch enrol has printed.");
  }
  const auto blank = field->find(' ');
  if (blank == std::string::npos || !scheme_is_bearer(field->substr(0, blank))) {
    return unauthorized("Authorization is not of the form Bearer KEY.");
  }
  std::string_view key = *field;
  key.remove_prefix(blank);
  while (key.starts_with(' ')) key.remove_prefix(1);
  return by_key(key, Credential::Kind::bearer);
}

Verdict Admission::by_signature(const HttpRequest& request, Instant now, WallTime wall_now) {
  const auto read = read_signature(request.field("signature-input").value_or(""),
                                   request.field("signature").value_or(""));
  if (!read) return malformed(read.error().text);
  const ReceivedSignature& received = read.value();
  if (received.nonce.empty() || received.nonce.size() > nonce_chars_max) {
    return malformed("The signature needs a nonce of 1 to 64 characters that is never used again.");
  }
  if (auto fits = check_digest(request); !fits) return malformed(fits.error().text);
  const auto value_of = [&](const std::string& name) { return component_value(request, name); };
  const Sha256* known = keys_.hash_of(received.key_id);
  // An unknown keyid is checked with some key, so that the time does not tell which ids exist.
  const Sha256 key = known != nullptr ? *known : Sha256{};
  SignatureRules excused = rules();
  excused.clock_excused = true;
  const std::int64_t now_s = wall_now.us / 1'000'000;
  const auto genuine = verify(received, value_of, excused, as_text(key), now_s);
  if (!genuine && genuine.error().code == Errc::bad_input) return malformed(genuine.error().text);
  if (!genuine || known == nullptr) {
    return unauthorized(
        "The signature does not fit: keyid must be the controller's id and the HMAC "
        "key the SHA-256 of its key's 32 bytes.");
  }
  if (nonces_.seen(received.key_id, received.nonce, now)) {
    return unauthorized("This nonce was used before; sign every check-in with a new one.");
  }
  const bool clock_excused = given_.holds(received.key_id, received.nonce, now);
  if (!clock_excused) {
    const auto timely = verify(received, value_of, rules(), as_text(key), now_s);
    if (!timely) return clock_off(received, timely.error().text, now);
  }
  if (auto slow_down = too_fast(received.key_id, now)) return *slow_down;
  if (!nonces_.remember(received.key_id, received.nonce, now)) {
    return wait_first("Too many signed check-ins are remembered just now; try again later.",
                      Span::of_min(1));
  }
  if (clock_excused)
    (void)given_.take(received.key_id, received.nonce, now);  // Held, as asked above.
  return Credential{.kind = Credential::Kind::signature, .controller = received.key_id};
}

Refusal Admission::clock_off(const ReceivedSignature& received, const std::string& why,
                             Instant now) {
  Refusal out = unauthorized(why + " Or sign once with the nonce of Accept-Signature.");
  out.fields.emplace_back("Accept-Signature",
                          "checkin=(\"@method\" \"@authority\" \"@path\" \"content-digest\")"
                          ";created;keyid=\"" +
                              received.key_id + "\";nonce=\"" + given_.give(received.key_id, now) +
                              '"');
  return out;
}

std::optional<Refusal> Admission::too_fast(const std::string& controller, Instant now) {
  // Controllers that are gone leave their buckets behind; a full one is as good as none.
  if (buckets_.size() > keys_.size() * 2 + 16) {
    std::erase_if(buckets_, [&](const auto& held) { return held.second.is_full(now); });
  }
  auto& bucket =
      buckets_.try_emplace(controller, limits::check_in_spacing_min, limits::check_in_burst_max)
          .first->second;
  const Span wait = bucket.wait(now);
  if (wait > Span{}) {
    return wait_first(
        "This controller checks in too fast: allowed are 20 at once and then one every "
        "200 ms. Send fewer.",
        wait);
  }
  bucket.take(now);
  return std::nullopt;
}

Refusal Admission::count_failure(Refusal refusal, const HttpRequest& request, Instant now) {
  if (refusal.status == 429) return refusal;
  const Span wait = wrong_.failed(address_group(request.remote_address), now);
  if (wait <= Span{}) return refusal;
  return wait_first("Too many wrong credentials came from this address. " + refusal.detail, wait);
}

}  // namespace ebbwatch
