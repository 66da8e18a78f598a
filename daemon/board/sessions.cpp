#include "board/sessions.h"

#include <algorithm>
#include <array>

#include "core/limits.h"
#include "crypto/digest.h"

namespace ebbwatch {
namespace {

Span life(Role role) {
  return role == Role::viewer ? Span::of_days(30) : Span::of_h(12);
}

std::string hash_of(std::string_view token) {
  return to_hex(sha256(token));
}

}  // namespace

std::string random_token(Entropy& entropy) {
  std::array<std::uint8_t, 32> bytes{};
  entropy.fill(bytes);
  return to_base64url(bytes);
}

Sessions::Opened Sessions::open(Role role, std::string person, WallTime now,
                                std::string keyholder) {
  make_room(now);
  Opened opened;
  opened.token = random_token(entropy_);
  opened.session = {hash_of(opened.token),  role, std::move(person),
                    random_token(entropy_), now,  now + life(role),
                    std::move(keyholder)};
  by_hash_[opened.session.token_hash] = opened.session;
  return opened;
}

void Sessions::restore(Session session) {
  by_hash_[session.token_hash] = std::move(session);
}

const Session* Sessions::find(std::string_view token, WallTime now) const {
  if (token.empty()) return nullptr;
  const auto found = by_hash_.find(hash_of(token));
  if (found == by_hash_.end() || now >= found->second.expires_at) return nullptr;
  return &found->second;
}

std::string Sessions::close(std::string_view token) {
  const auto hash = hash_of(token);
  return by_hash_.erase(hash) > 0 ? hash : std::string();
}

void Sessions::close_older(Role role, WallTime at, std::string_view keyholder) {
  std::erase_if(by_hash_, [&](const auto& entry) {
    const Session& one = entry.second;
    return one.role == role && one.opened_at < at &&
           (keyholder.empty() || one.keyholder == keyholder);
  });
}

/// Those whose time is over go; when the table is full all the same, the one that ends first.
void Sessions::make_room(WallTime now) {
  std::erase_if(by_hash_, [&](const auto& entry) { return now >= entry.second.expires_at; });
  if (by_hash_.size() < limits::board_sessions_max) return;
  by_hash_.erase(std::min_element(
      by_hash_.begin(), by_hash_.end(),
      [](const auto& a, const auto& b) { return a.second.expires_at < b.second.expires_at; }));
}

}  // namespace ebbwatch
