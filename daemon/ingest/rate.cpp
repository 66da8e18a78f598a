#include "ingest/rate.h"

#include <algorithm>

namespace ebbwatch {

Span TokenBucket::wait(Instant now) const {
  const Span owed = empty_until_ - now;
  const Span allowed = spacing_ * (static_cast<std::int64_t>(burst_) - 1);
  return std::max(Span{}, owed - allowed);
}

void TokenBucket::take(Instant now) {
  empty_until_ = std::max(empty_until_, now) + spacing_;
}

Span WrongCredentials::failed(const std::string& sender, Instant now) {
  const auto found = by_sender_.find(sender);
  if (found == by_sender_.end()) {
    if (newest_first_.size() == limits::wrong_senders_max) {
      by_sender_.erase(newest_first_.back().name);
      newest_first_.pop_back();
    }
    newest_first_.push_front({.name = sender, .count = 0, .blocked_until = now, .last = now});
    by_sender_.emplace(sender, newest_first_.begin());
  } else {
    newest_first_.splice(newest_first_.begin(), newest_first_, found->second);
  }
  Sender& at = newest_first_.front();
  if (now - std::max(at.last, at.blocked_until) > limits::wrong_credentials_wait_max) at.count = 0;
  at.last = now;
  // Trying again during a wait does not lengthen it, or a stubborn device would never come back.
  if (now < at.blocked_until) return at.blocked_until - now;
  if (++at.count <= limits::wrong_credentials_free) return {};
  const auto doublings = std::min<std::uint32_t>(at.count - limits::wrong_credentials_free - 1, 20);
  const Span wait =
      std::min(Span::of_s(std::int64_t{1} << doublings), limits::wrong_credentials_wait_max);
  at.blocked_until = now + wait;
  return wait;
}

}  // namespace ebbwatch
