// RFC 9421 HTTP message signatures with hmac-sha256: the base, the two fields, and the check.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/result.h"
#include "core/time.h"

namespace ebbwatch {

/// A component identifier (`@method`, `content-digest`) with its value as RFC 9421 §2 derives it.
using SignedComponent = std::pair<std::string, std::string>;

struct SignatureParameters {
  std::int64_t created = 0;  ///< Unix seconds.
  std::string key_id = {};
  std::string nonce = {};       ///< Left out when empty.
  bool name_algorithm = false;  ///< Adds alg="hmac-sha256".
};

/// §2.5. Lines with LF between and none at the end.
std::string signature_base(const std::vector<SignedComponent>& components,
                           const SignatureParameters& parameters);

struct SignatureFields {
  std::string input;      ///< Value of Signature-Input, `label=(…);created=…`
  std::string signature;  ///< Value of Signature, `label=:base64:`
};
SignatureFields sign(const std::string& label, const std::vector<SignedComponent>& components,
                     const SignatureParameters& parameters, std::string_view key);

/// A signature as it was received: read, but not yet believed.
struct ReceivedSignature {
  std::string label;
  std::vector<std::string> components;  ///< Names, in the order in which they were signed.
  std::string parameters;  ///< The value of @signature-params, byte for byte as it was sent.
  std::optional<std::int64_t> created, expires;  ///< Unix seconds.
  std::string key_id, nonce, algorithm;          ///< Empty when not given.
  std::string signature;                         ///< Bytes.
};

/// Reads the first signature of the two fields (RFC 9421 §4, RFC 8941 dictionaries). Errors:
/// bad_input, with what is wrong; components with parameters (`;req`, `;sf`) are not supported.
Result<ReceivedSignature> read_signature(std::string_view signature_input,
                                         std::string_view signature);

/// The value of a component in the received message; empty when the message has none.
using ComponentValue = std::function<std::optional<std::string>(const std::string& name)>;

struct SignatureRules {
  std::vector<std::string> required = {};    ///< Components that must be covered.
  Span created_tolerance = Span::of_s(300);  ///< Either way; the limit itself is still good.
  /// For a sender that has lost its clock but returned a nonce that we gave it just now: `created`
  /// is then not compared.
  bool clock_excused = false;
};

/// Recomputes the base and compares in constant time. The key is bound to hmac-sha256, whatever
/// `alg` says. The caller looks the key up by key_id and refuses a nonce that it has seen before.
/// Errors: bad_input (no `created`, a component that is missing or not covered), refused (too old,
/// too new, expired, or the signature does not fit).
Result<void> verify(const ReceivedSignature& received, const ComponentValue& value_of,
                    const SignatureRules& rules, std::string_view key, std::int64_t now_s);

}  // namespace ebbwatch
