// A POST whose receiver can tell who sent it and that nothing was changed. Pure.
#pragma once

#include <optional>
#include <string>

#include "core/result.h"
#include "core/time.h"
#include "notifiers/curl_client.h"

namespace ebbwatch {

/// The parts of a URL that RFC 9421 §2.2 has signed.
struct SignedAddress {
  std::string authority;  ///< Lower case, without the scheme's own port and without user names.
  std::string path;       ///< At least "/".
  std::string query;      ///< With its "?"; empty when there is none.
};
/// Errors: bad_input.
Result<SignedAddress> read_address(const std::string& url);

struct SigningKey {
  std::string id;     ///< Goes out as keyid.
  std::string bytes;  ///< The secret's bytes as they are in its file.
};
/// Adds Content-Digest (RFC 9530) and, with a key, Signature-Input and Signature (RFC 9421,
/// hmac-sha256) over @method, @authority, @path, @query when there is one, content-type and
/// content-digest, with created, keyid and nonce. @pre `request` is a POST with a Content-Type.
void sign_request(OutgoingRequest& request, const SignedAddress& address,
                  const std::optional<SigningKey>& key, WallTime now, const std::string& nonce);

}  // namespace ebbwatch
