// Nonces that were used already, so that a recorded message cannot be sent again, and nonces that
// we gave to controllers whose clock is wrong. Pure: time is an argument.
#pragma once

#include <deque>
#include <string>
#include <unordered_map>
#include <unordered_set>

#include "core/limits.h"
#include "core/time.h"
#include "ports/entropy.h"

namespace ebbwatch {

class NonceCache {
 public:
  /// @param kept how long a nonce is remembered: at least twice the tolerance for `created`.
  explicit NonceCache(Span kept, std::size_t most = limits::nonces_max)
      : kept_(kept), most_(most) {}

  bool seen(const std::string& controller, const std::string& nonce, Instant now);
  /// Remembers it. @return false when the cache is full: the message must then be refused, because
  /// forgetting an older nonce would let that one through again.
  bool remember(const std::string& controller, const std::string& nonce, Instant now);
  std::size_t size() const { return held_.size(); }

 private:
  struct Entry {
    Instant until;
    std::string key;
  };
  void forget_old(Instant now);

  Span kept_;
  std::size_t most_;
  std::deque<Entry> oldest_first_;
  std::unordered_set<std::string> held_;
};

/// One nonce a controller at a time, given only to a sender that has shown that it holds the key.
/// It stays the same until it is used or a minute old, so that replays of old messages cannot
/// displace it. Bounded by the number of keys.
class GivenNonces {
 public:
  explicit GivenNonces(Entropy& entropy) : entropy_(&entropy) {}

  /// The nonce that this controller may sign next, whatever its clock says.
  std::string give(const std::string& controller, Instant now);
  /// Whether this is the one that was given and is still good; it is then used up.
  bool take(const std::string& controller, const std::string& nonce, Instant now);
  /// The same without using it up.
  bool holds(const std::string& controller, const std::string& nonce, Instant now) const;

 private:
  struct Given {
    std::string nonce;
    Instant until;
  };
  Entropy* entropy_;
  std::unordered_map<std::string, Given> by_controller_;
};

}  // namespace ebbwatch
