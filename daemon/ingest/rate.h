// How fast one controller may check in, and how long a sender with wrong credentials must wait.
// Pure: time is an argument.
#pragma once

#include <cstddef>
#include <cstdint>
#include <list>
#include <string>
#include <unordered_map>

#include "core/limits.h"
#include "core/time.h"

namespace ebbwatch {

/// A token bucket: `burst` at once, then one every `spacing`. Starts full.
class TokenBucket {
 public:
  TokenBucket(Span spacing, std::uint32_t burst) : spacing_(spacing), burst_(burst) {}

  /// How long until one may be taken; zero when one may be taken now.
  Span wait(Instant now) const;
  /// Takes one. @pre wait(now) is zero.
  void take(Instant now);
  /// Whether it has refilled completely, so that a new one would be the same.
  bool is_full(Instant now) const { return empty_until_ <= now; }

 private:
  Span spacing_;
  std::uint32_t burst_;
  Instant empty_until_{INT64_MIN / 2};  ///< When the last taken token is back.
};

/// Wrong credentials by sender (see address_group). The first ten are only refused; then each makes
/// the sender wait twice as long as the one before, from 1 s to 15 min. Never asked about a good
/// credential: one wrong controller behind a router must not silence the others behind it. A sender
/// that stays away for 15 min after its wait starts afresh.
class WrongCredentials {
 public:
  /// Counts one more. @return how long this sender must wait by now; zero while it need not.
  Span failed(const std::string& sender, Instant now);
  std::size_t size() const { return by_sender_.size(); }

 private:
  struct Sender {
    std::string name;
    std::uint32_t count = 0;
    Instant blocked_until;
    Instant last;
  };
  std::list<Sender> newest_first_;
  std::unordered_map<std::string, std::list<Sender>::iterator> by_sender_;
};

}  // namespace ebbwatch
