// HMAC-SHA256 (RFC 2104) with a key of which only two SHA-256 states are kept: those after the
// padded key's inner and outer block. 64 bytes a key instead of an OpenSSL context of some 900, and
// two blocks less to hash for each message. From the states a mac can be made, so they are a secret
// too, but the key cannot be learnt from them.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "crypto/digest.h"

namespace ebbwatch {

class MacState {
 public:
  /// @param key of any length; one over 64 bytes is hashed first, as the RFC says.
  static MacState of(std::string_view key);
  /// As to_hex() wrote it; empty for anything else.
  static std::optional<MacState> from_hex(std::string_view text);
  /// 128 digits, the inner state first, each word with its highest byte first.
  std::string to_hex() const;

  /// The same as hmac_sha256(key, data).
  Sha256 mac(std::string_view data) const;

 private:
  using State = std::array<std::uint32_t, 8>;
  State inner_{}, outer_{};
};

}  // namespace ebbwatch
