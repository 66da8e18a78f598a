#include "board/login_brake.h"

#include <algorithm>

#include "core/limits.h"

namespace ebbwatch {

Span LoginBrake::wait(const std::string& sender, Instant now) const {
  const auto found = senders_.find(sender);
  if (found == senders_.end() || found->second.free_at <= now) return {};
  return found->second.free_at - now;
}

void LoginBrake::wrong(const std::string& sender, Instant now) {
  std::erase_if(senders_, [&](const auto& entry) {
    return now - entry.second.last > limits::login_forget_after;
  });
  if (senders_.size() >= limits::login_senders_max && senders_.count(sender) == 0) {
    senders_.erase(std::min_element(
        senders_.begin(), senders_.end(),
        [](const auto& a, const auto& b) { return a.second.last < b.second.last; }));
  }
  Tries& tries = senders_[sender];
  tries.last = now;
  ++tries.wrong;
  if (tries.wrong < limits::login_wrong_free) return;
  Span pause = Span::of_s(1);
  for (auto n = limits::login_wrong_free; n < tries.wrong && pause < limits::login_wait_max; ++n) {
    pause = pause * 2;
  }
  tries.free_at = now + std::min(pause, limits::login_wait_max);
}

void LoginBrake::right(const std::string& sender) {
  senders_.erase(sender);
}

}  // namespace ebbwatch
