// Who holds which key: hashes of keys and the controllers that they stand for. A value; the daemon
// makes a new one and swaps it in when keys change.
#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "crypto/digest.h"
#include "crypto/mac_state.h"
#include "ports/store.h"

namespace ebbwatch {

class KeyTable {
 public:
  KeyTable() = default;
  /// Rows whose hash is not 64 hexadecimal digits are left out; of several rows of one controller
  /// the last holds.
  explicit KeyTable(const std::vector<KeyRow>& rows);

  // The second table points into the first, which a move keeps and a copy would not.
  KeyTable(KeyTable&&) = default;
  KeyTable& operator=(KeyTable&&) = default;

  /// The controller whose key has this hash; null when none has. Takes the same time for hashes
  /// that differ early or late.
  const std::string* controller_of(const Sha256& hash) const;
  /// For the mac of its datagrams; null when it has no key, or one that was made too early.
  const MacState* mac_of(std::string_view controller) const;
  /// How many keys are too old for datagrams.
  std::size_t without_mac() const { return by_controller_.size() - macs_.size(); }
  /// The hash of a controller's key, which is also its HMAC key; null when it has none.
  const Sha256* hash_of(const std::string& controller) const;
  std::size_t size() const { return by_controller_.size(); }

 private:
  struct TextHash {
    using is_transparent = void;
    std::size_t operator()(std::string_view text) const {
      return std::hash<std::string_view>{}(text);
    }
  };

  std::unordered_map<std::string, Sha256> by_controller_;
  std::unordered_map<std::string, MacState, TextHash, std::equal_to<>> macs_;
  /// By the first 8 bytes, as a number. The hash of a secret tells nothing that helps to guess it,
  /// so that a table look-up leaks nothing of use; the whole is compared in constant time.
  std::unordered_multimap<std::uint64_t, const std::string*> by_hash_;
};

}  // namespace ebbwatch
