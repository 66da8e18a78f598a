#include "ingest/nonces.h"

#include <array>

#include "crypto/digest.h"

namespace ebbwatch {
namespace {

constexpr Span given_for = Span::of_min(1);

/// Identifiers hold no line end, so that two pairs never make one key.
std::string joined(const std::string& controller, const std::string& nonce) {
  return controller + '\n' + nonce;
}

}  // namespace

void NonceCache::forget_old(Instant now) {
  while (!oldest_first_.empty() && oldest_first_.front().until <= now) {
    held_.erase(oldest_first_.front().key);
    oldest_first_.pop_front();
  }
}

bool NonceCache::seen(const std::string& controller, const std::string& nonce, Instant now) {
  forget_old(now);
  return held_.contains(joined(controller, nonce));
}

bool NonceCache::remember(const std::string& controller, const std::string& nonce, Instant now) {
  forget_old(now);
  if (held_.size() >= most_) return false;
  const auto [at, added] = held_.insert(joined(controller, nonce));
  if (added) oldest_first_.push_back({.until = now + kept_, .key = *at});
  return true;
}

std::string GivenNonces::give(const std::string& controller, Instant now) {
  Given& given = by_controller_[controller];
  if (given.nonce.empty() || given.until <= now) {
    std::array<std::uint8_t, 18> random{};
    entropy_->fill(random);
    given = {.nonce = to_base64url(random), .until = now + given_for};
  }
  return given.nonce;
}

bool GivenNonces::holds(const std::string& controller, const std::string& nonce,
                        Instant now) const {
  const auto found = by_controller_.find(controller);
  return found != by_controller_.end() && now < found->second.until &&
         equal_in_constant_time(found->second.nonce, nonce);
}

bool GivenNonces::take(const std::string& controller, const std::string& nonce, Instant now) {
  if (!holds(controller, nonce, now)) return false;
  by_controller_.erase(controller);
  return true;
}

}  // namespace ebbwatch
