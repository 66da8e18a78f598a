// RFC 9421 HTTP message signatures with hmac-sha256: the base, the two fields, and the check.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace ebbwatch {

/// A component identifier (`@method`, `content-digest`) with its value as RFC 9421 §2 derives it.
using SignedComponent = std::pair<std::string, std::string>;

struct SignatureParameters {
  std::int64_t created = 0;  ///< Unix seconds.
  std::string key_id;
  std::string nonce;         ///< Left out when empty.
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

}  // namespace ebbwatch
