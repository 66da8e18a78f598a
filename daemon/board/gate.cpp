#include "board/gate.h"

#include <algorithm>

#include "board/html.h"
#include "crypto/digest.h"

namespace ebbwatch {
namespace {

std::string url_encode(std::string_view text) {
  std::string out;
  constexpr std::string_view plain =
      "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-._~/";
  for (const char c : text) {
    if (plain.find(c) != std::string_view::npos) {
      out += c;
    } else {
      const auto byte = static_cast<std::uint8_t>(c);
      out += '%' + to_hex({&byte, 1});
    }
  }
  return out;
}

BoardAnswer to_login(const BoardRequest& request) {
  const std::string wanted = request.path + (request.query.empty() ? "" : "?" + request.query);
  return see_other(wanted == "/" ? "/login" : "/login?next=" + url_encode(wanted));
}

}  // namespace

Gate::Gate(const Sessions& sessions, Entropy& entropy)
    : sessions_(sessions), entropy_(entropy), secret_(random_token(entropy)) {}

std::variant<Passed, BoardAnswer> Gate::admit(const BoardRequest& request, WallTime now) const {
  const auto match = find_route(request.method, request.path);
  if (match.route == nullptr) {
    if (match.allow.empty()) return refusal(404, "There is no such page.");
    auto answer = refusal(405, "This address cannot be used in this way.");
    answer.fields.emplace_back("Allow", match.allow);
    return answer;
  }
  const Route& route = *match.route;
  Passed passed;
  passed.page = route.page;
  passed.id = match.id;
  if (const auto* found = sessions_.find(cookie_value(request.cookie, session_cookie), now)) {
    passed.session = *found;
  }
  if (passed.session.role < route.least) {
    if (passed.session.role != Role::nobody) {
      return refusal(403, std::string("This needs the role ") + word(route.least) +
                              ". Leave, and enter again with its password.");
    }
    if (route.page == BoardPage::events) return refusal(401, "Log in first.");
    return route.method == "GET" ? to_login(request) : see_other("/login");
  }
  const auto query = parse_form(request.query);
  const auto form = parse_form(request.body);
  if (!query || (route.method == "POST" && !form)) {
    return refusal(400, "The form did not arrive whole. Go back and send it again.");
  }
  passed.query = *query;
  if (route.method != "POST") return passed;
  passed.form = *form;
  if (!form_token_good(route, request, passed)) {
    return refusal(403,
                   "This form is too old, or comes from elsewhere. Go back, load the page "
                   "again, and send it again.");
  }
  return passed;
}

bool Gate::form_token_good(const Route& route, const BoardRequest& request,
                           const Passed& passed) const {
  const auto given = form_value(passed.form, "form_token");
  if (route.page != BoardPage::enter) {
    return equal_in_constant_time(given, passed.session.form_token);
  }
  const auto cookie = cookie_value(request.cookie, login_cookie);
  return !cookie.empty() && equal_in_constant_time(given, login_form_token(cookie));
}

Gate::LoginTicket Gate::login_ticket(const BoardRequest& request) const {
  LoginTicket ticket;
  ticket.cookie = cookie_value(request.cookie, login_cookie);
  if (ticket.cookie.size() != 43) ticket.cookie = random_token(entropy_);
  ticket.form_token = login_form_token(ticket.cookie);
  return ticket;
}

std::string Gate::login_form_token(const std::string& cookie) const {
  return to_base64url(hmac_sha256(secret_, cookie));
}

std::string cookie_value(std::string_view field, std::string_view name) {
  while (!field.empty()) {
    auto pair = field.substr(0, field.find(';'));
    field.remove_prefix(std::min(field.size(), pair.size() + 1));
    while (pair.starts_with(' ')) pair.remove_prefix(1);
    const auto equals = pair.find('=');
    if (equals == std::string_view::npos || pair.substr(0, equals) != name) continue;
    auto value = pair.substr(equals + 1);
    while (value.ends_with(' ')) value.remove_suffix(1);
    return std::string(value);
  }
  return {};
}

std::string set_cookie(std::string_view name, std::string_view value, Span life, bool secure) {
  std::string out = std::string(name) + "=" + std::string(value) +
                    "; Path=/; HttpOnly; SameSite=Strict; Max-Age=" +
                    std::to_string(value.empty() ? 0 : life.us / 1'000'000);
  if (secure) out += "; Secure";
  return out;
}

std::string safe_return(std::string_view wanted) {
  const auto path = wanted.substr(0, wanted.find('?'));
  const auto match = find_route("GET", path);
  const bool page = match.route != nullptr && match.route->least != Role::nobody &&
                    match.route->page != BoardPage::events;
  // A field's value must not hold line ends; everything else of a query is harmless after a path.
  const bool clean = wanted.find_first_of("\r\n") == std::string_view::npos;
  return page && clean ? std::string(wanted) : "/";
}

BoardAnswer refusal(int status, const std::string& sentence) {
  Html page;
  page << "<!DOCTYPE html>\n<html lang=\"en\">\n<head><meta "
          "charset=\"utf-8\"><title>ebbwatch</title>"
          "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">"
          "<link rel=\"stylesheet\" href=\"/board.css\"></head>\n<body class=\"plain\"><main>"
          "<h1>Not this way</h1><p>"
       << sentence << "</p><p><a href=\"/\">To the panel</a></p></main></body></html>\n";
  return html_answer(page.str(), status);
}

}  // namespace ebbwatch
