// Decides for every request of the board whether it may pass, before anything else looks at it:
// address, role, form token. Pure.
#pragma once

#include <string>
#include <variant>

#include "board/board_message.h"
#include "board/routes.h"
#include "board/sessions.h"
#include "text/form.h"

namespace ebbwatch {

struct Passed {
  BoardPage page = BoardPage::panel;
  std::string id;   ///< From the address; empty where it has none.
  Session session;  ///< Role nobody when nobody is logged in.
  FormFields query, form;
};

class Gate {
 public:
  /// @param sessions must outlive it.
  Gate(const Sessions& sessions, Entropy& entropy);

  /// Refusals: 404; 405 with Allow; 303 to the login page for a page that needs a role, 401 for the
  /// event stream; 403 for too small a role or a wrong form token; 400 for a malformed form.
  std::variant<Passed, BoardAnswer> admit(const BoardRequest& request, WallTime now) const;

  /// The two halves of the login form's token: one goes into a cookie, the other into the form. A
  /// page of another host can have neither.
  struct LoginTicket {
    std::string cookie, form_token;
  };
  LoginTicket login_ticket(const BoardRequest& request) const;

 private:
  bool form_token_good(const Route& route, const BoardRequest& request, const Passed& passed) const;
  std::string login_form_token(const std::string& cookie) const;
  const Sessions& sessions_;
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
