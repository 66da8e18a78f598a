// Who is logged in. A session is 256 bits of chance in a cookie; only its hash is kept, here and in
// the store. Pure: time and chance come from the caller.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "board/routes.h"
#include "core/time.h"
#include "ports/entropy.h"

namespace ebbwatch {

struct Session {
  std::string token_hash;  ///< SHA-256 of the cookie's text, in hex.
  Role role = Role::nobody;
  std::string person;      ///< The name that was given at login.
  std::string form_token;  ///< Comes with every form that was served here; a forged one lacks it.
  WallTime opened_at, expires_at;
  std::string keyholder{};  ///< Identifier, where the person is one of the settings' keyholders.
};

class Sessions {
 public:
  explicit Sessions(Entropy& entropy) : entropy_(entropy) {}

  struct Opened {
    std::string token;  ///< For the cookie, and nowhere else.
    Session session;
  };
  /// Viewers stay for 30 days, so that a page on a wall goes on; others for 12 hours.
  Opened open(Role role, std::string person, WallTime now, std::string keyholder = {});
  /// As stored by an earlier process.
  void restore(Session session);
  /// Null when there is none or its time is over. Valid until the next change.
  const Session* find(std::string_view token, WallTime now) const;
  /// @return the hash of what was closed; empty when there was none.
  std::string close(std::string_view token);
  /// Ends the sessions of a role that were opened before `at`: its password was changed then.
  /// @param keyholder only of this one; empty: of all.
  void close_older(Role role, WallTime at, std::string_view keyholder = {});

  std::size_t size() const { return by_hash_.size(); }

 private:
  void make_room(WallTime now);
  Entropy& entropy_;
  std::map<std::string, Session, std::less<>> by_hash_;
};

/// 32 unpredictable bytes as base64url.
std::string random_token(Entropy& entropy);

}  // namespace ebbwatch
