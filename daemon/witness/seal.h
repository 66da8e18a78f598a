// Messages between watchers under RFC 9421 with a key that two watchers share: who says it, that
// nothing was changed, and that it was not said before. Pure.
//
// A request covers @method, @path and content-digest; an answer @status and content-digest, and
// carries the nonce of its request, so that it fits no other. Both name the sender as keyid. Clocks
// play no part: `created` is sent, as the RFC wants, and never compared. A request is fresh when it
// is signed with a nonce that the receiver gave (WitnessMessage::next); one without is answered 401
// with such a nonce, once its signature has been checked.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>

#include "core/result.h"
#include "core/time.h"

namespace ebbwatch {

inline constexpr const char* witness_path = "/v1/witness";

/// The body with the header fields that belong to it.
struct SealedMessage {
  std::string body;
  std::string digest;     ///< Content-Digest
  std::string input;      ///< Signature-Input
  std::string signature;  ///< Signature
};

struct Seal {
  std::string from;  ///< The sender; goes out as keyid.
  std::string key;   ///< The shared secret's bytes.
  std::string nonce;
  std::int64_t created_s = 0;
};

SealedMessage seal_request(std::string body, const Seal& seal);
SealedMessage seal_answer(std::string body, int status, const Seal& seal);

struct Opened {
  std::string from;  ///< Whose key has signed it.
  std::string nonce;
  std::int64_t created_s = 0;
};

/// The key that is shared with a watcher; empty for one that is not known.
using KeyOfWatcher = std::function<std::optional<std::string>(const std::string& from)>;

/// Checks digest and signature; the caller checks the nonce. Errors: bad_input (malformed, or the
/// digest is not that of the body), refused (unknown sender, or a signature that does not fit).
Result<Opened> open_request(const SealedMessage& sealed, const KeyOfWatcher& key_of);
/// As above, of an answer to the request that was sealed with `asked` to `from`. `asked.from` is
/// this watcher itself.
Result<void> open_answer(const SealedMessage& sealed, int status, const std::string& from,
                         const Seal& asked);

}  // namespace ebbwatch
