// Decides for every request of the board whether it may pass, before anything else looks at it:
// address, role, form token. Pure.
#pragma once

#include <string>
#include <variant>

#include "board/board_message.h"
#include "board/routes.h"
#include "board/sessions.h"
#include "board/wall_keys.h"
#include "text/form.h"

namespace ebbwatch {

struct Passed {
  BoardPage page = BoardPage::panel;
  std::string id;   ///< From the address; empty where it has none.
  Session session;  ///< Role nobody when nobody is logged in; viewer by the key of an address.
  std::string key;  ///< Of the read-only address that was shown; empty: none.
  FormFields query, form;
};

class Gate {
 public:
  /// @param sessions, keys must outlive it.
  Gate(const Sessions& sessions, const WallKeys& keys, Entropy& entropy);

  /// Refusals: 404; 405 with Allow; 303 to the login page for a page that needs a role, 401 for the
  /// event stream and for programs; 403 for too small a role or a wrong form token; 400 for a
  /// malformed form. An address with a wrong key is 404: it says nothing of there being such.
  /// Programs are told by problem documents.
  std::variant<Passed, BoardAnswer> admit(const BoardRequest& request, WallTime now) const;

  /// The two halves of the login form's token: one goes into a cookie, the other into the form. A
  /// page of another host can have neither.
  struct LoginTicket {
    std::string cookie, form_token;
  };
  LoginTicket login_ticket(const BoardRequest& request) const;

 private:
  void recognise(const Route& route, const BoardRequest& request, WallTime now,
                 Passed& passed) const;
  BoardAnswer turn_away(const Route& route, const BoardRequest& request, Role role) const;
  bool form_token_good(const Route& route, const BoardRequest& request, const Passed& passed) const;
  std::string login_form_token(const std::string& cookie) const;
  const Sessions& sessions_;
  const WallKeys& keys_;
  Entropy& entropy_;
  std::string secret_;
};

/// The value of one cookie of a Cookie field (RFC 6265); empty when it is not there.
std::string cookie_value(std::string_view cookie_field, std::string_view name);
inline constexpr const char* session_cookie = "ebbwatch-session";
inline constexpr const char* login_cookie = "ebbwatch-login";
/// A Set-Cookie value: for this host, not for scripts, never from other sites. @param secure only
/// over TLS. @param value empty: deletes it.
std::string set_cookie(std::string_view name, std::string_view value, Span life, bool secure);

/// Where to go after login: `wanted` when it is a page of ours that is read, else the panel.
std::string safe_return(std::string_view wanted);

/// A short page that says why not.
BoardAnswer refusal(int status, const std::string& sentence);

}  // namespace ebbwatch
