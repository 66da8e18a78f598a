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

bool for_programs(std::string_view path) {
  return path.starts_with("/v1/") || path == "/metrics";
}

BoardAnswer no_route(const BoardRequest& request, const std::string& allow) {
  const int status = allow.empty() ? 404 : 405;
  const bool program = for_programs(request.path);
  const char* why = status == 405 ? "This address cannot be used in this way."
                    : program     ? "There is no such address. /v1/openapi.json lists all."
                                  : "There is no such page.";
  auto answer = program ? problem_answer(status, why) : refusal(status, why);
  if (status == 405) answer.fields.emplace_back("Allow", allow);
  return answer;
}

}  // namespace

Gate::Gate(const Sessions& sessions, const WallKeys& keys, Entropy& entropy)
    : sessions_(sessions), keys_(keys), entropy_(entropy), secret_(random_token(entropy)) {}

std::variant<Passed, BoardAnswer> Gate::admit(const BoardRequest& request, WallTime now) const {
  const auto match = find_route(request.method, request.path);
  if (match.route == nullptr) return no_route(request, match.allow);
  const Route& route = *match.route;
  Passed passed;
  passed.page = route.page;
  passed.id = match.id;
  recognise(route, request, now, passed);
  if (passed.session.role < route.least) return turn_away(route, request, passed.session.role);
  const auto query = parse_form(request.query);
  const auto form = parse_form(request.body);
  if (!query || (route.method == "POST" && !form)) {
    return for_programs(request.path)
               ? problem_answer(400, "The query is not form encoded.")
               : refusal(400, "The form did not arrive whole. Go back and send it again.");
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

/// Who is asking, by what this address takes.
void Gate::recognise(const Route& route, const BoardRequest& request, WallTime now,
                     Passed& passed) const {
  if (route.entry != Entry::session) {
    auto key = route.entry == Entry::key_in_address ? passed.id : bearer_key(request.authorization);
    if (keys_.good(key)) {
      passed.session.role = Role::viewer;
      passed.key = std::move(key);
    }
    if (route.entry == Entry::key_in_address || !request.authorization.empty()) return;
  }
  if (const auto* found = sessions_.find(cookie_value(request.cookie, session_cookie), now)) {
    passed.session = *found;
  }
}

BoardAnswer Gate::turn_away(const Route& route, const BoardRequest& request, Role role) const {
  if (route.entry == Entry::key_in_address) return refusal(404, "There is no such page.");
  if (route.entry == Entry::key_or_session) {
    auto answer = problem_answer(
        401, "Show a key: Authorization: Bearer KEY. 'ebbwatch wall-address new NAME' makes one.");
    answer.fields.emplace_back("WWW-Authenticate", "Bearer");
    return answer;
  }
  if (role != Role::nobody) {
    return refusal(403, std::string("This needs the role ") + word(route.least) +
                            ". Leave, and enter again with its password.");
  }
  if (route.page == BoardPage::events) return refusal(401, "Log in first.");
  return route.method == "GET" ? to_login(request) : see_other("/login");
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
                    match.route->entry == Entry::session &&
                    match.route->page != BoardPage::events &&
                    match.route->page != BoardPage::calendar;
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
