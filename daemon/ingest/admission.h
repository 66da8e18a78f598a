// Who may check in: credential, speed, replay. Pure: the request, the time and the random source
// are arguments; nothing is sent, stored or logged here.
//
// Credentials, in the order in which they are looked for:
//  1. a capability, the KEY of /v1/c/KEY;
//  2. an RFC 9421 signature with hmac-sha256. keyid is the controller's identifier, the HMAC key is
//     the SHA-256 of the key's 32 bytes (crypto/controller_key.h). It must cover @method,
//     @authority,
//     @path and content-digest and carry created and nonce; a differing alg is ignored. A nonce is
//     good once. `created` may be 300 s off; a sender whose clock is further off but whose
//     signature fits gets 401 with Accept-Signature and a nonce of ours that is good for one minute
//     and then excuses its clock, so that a power cut does not lock a controller without a battery
//     out;
//  3. Authorization: Bearer KEY.
//
// Refusals: 400 malformed signature fields or digest, 401 no or wrong credential, 429 too fast
// (20 at once, then 5 a second for one controller) or too many wrong credentials from one sender.
// A good credential is never refused because of wrong ones from the same address.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <utility>
#include <variant>
#include <vector>

#include "core/time.h"
#include "crypto/http_signature.h"
#include "ingest/http_message.h"
#include "ingest/key_table.h"
#include "ingest/nonces.h"
#include "ingest/rate.h"
#include "ports/entropy.h"

namespace ebbwatch {

struct Credential {
  enum class Kind { bearer, capability, signature, datagram, broker };
  Kind kind = Kind::bearer;
  std::string controller;  ///< Whose key it is.
  /// The time that a datagram proved, to be kept: none up to it is taken any more.
  std::optional<WallTime> proven_at{};
};

struct Refusal {
  int status = 401;
  std::string detail;               ///< For the problem document; holds no part of a key.
  std::optional<Span> retry_after;  ///< With 429.
  std::vector<std::pair<std::string, std::string>> fields;  ///< WWW-Authenticate and the like.
};

using Verdict = std::variant<Credential, Refusal>;

class Admission {
 public:
  explicit Admission(Entropy& entropy);

  /// From now on these keys hold and no others.
  void replace_keys(KeyTable keys) { keys_ = std::move(keys); }
  const KeyTable& keys() const { return keys_; }

  /// @param capability the KEY of the address; empty for other routes.
  /// Counts the attempt: a good credential takes a token of its controller's bucket and uses its
  /// nonce up, a wrong one counts against the sender.
  Verdict admit(const HttpRequest& request, std::string_view capability, Instant now,
                WallTime wall_now);

  /// For transports whose messages carry the key. Nothing is counted.
  bool is_key_of(std::string_view key, const std::string& controller) const;

  /// Takes a token of the controller's bucket, for transports that prove in another way who sends.
  /// @return how long it must wait instead, when it checks in too fast.
  std::optional<Refusal> too_fast(const std::string& controller, Instant now);

 private:
  Verdict by_key(std::string_view key, Credential::Kind kind) const;
  Verdict by_bearer(const HttpRequest& request) const;
  Verdict by_signature(const HttpRequest& request, Instant now, WallTime wall_now);
  Refusal clock_off(const ReceivedSignature& received, const std::string& why, Instant now);
  Refusal count_failure(Refusal refusal, const HttpRequest& request, Instant now);

  KeyTable keys_;
  std::unordered_map<std::string, TokenBucket> buckets_;
  WrongCredentials wrong_;
  NonceCache nonces_;
  GivenNonces given_;
};

}  // namespace ebbwatch
