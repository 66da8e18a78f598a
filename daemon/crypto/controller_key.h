// The secret of one controller, and what may be stored of it.
//
// A key is 256 bits of chance. As text it is "ebb1_" and 43 characters of base64url, 48 in all,
// safe in a header, an address and a shell. It is shown once, when it is made; only the SHA-256 of
// its 32 bytes is kept. A plain hash suffices, without salt or stretching: there is nothing to
// guess.
//
// Signatures (RFC 9421, hmac-sha256) need a secret that both sides have, so their HMAC key is that
// hash: SHA-256 over the 32 bytes, as 32 raw bytes. A controller computes it once. The mac of
// datagrams is made by small devices and shell scripts, so its HMAC key is the key's text as it was
// shown; the watcher keeps the two SHA-256 states that come of it (mac_state.h). Who can read the
// watcher's state directory can therefore forge signatures and datagrams, but cannot learn the key
// itself nor use it as a bearer token.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "crypto/digest.h"
#include "crypto/mac_state.h"

namespace ebbwatch {

struct ControllerKey {
  std::string text;  ///< To be shown once and forgotten.
  Sha256 hash;       ///< To be stored (in hex: store KeyRow::key_hash).
  MacState mac;      ///< For datagrams; to be stored as well (KeyRow::mac_state).
};

/// @param random 32 unpredictable bytes.
ControllerKey make_key(std::span<const std::uint8_t, 32> random);

/// The hash of a key given as text. Empty when the text does not have the form of a key.
std::optional<Sha256> key_hash(std::string_view key_text);

/// `text` with all that could be a key taken out, for messages that quote what came from outside: a
/// sender that wrote its key into the wrong place must not find it in a log.
std::string without_keys(std::string text);

}  // namespace ebbwatch
