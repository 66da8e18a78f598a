#include "board/gate.h"

#include <doctest/doctest.h>

#include "chance.h"

using namespace ebbwatch;
using ebbwatch::test::RepeatableChance;

namespace {

constexpr WallTime noon{Span::of_s(1'700'000'000).us};

struct Door {
  RepeatableChance chance;
  Sessions sessions{chance};
  WallKeys keys;
  Gate gate{sessions, keys, chance};
  Door() { keys.use({{"kitchen", wall_key_hash("good-key"), noon}}); }

  /// Status of the refusal; 0: it passed.
  int status(const BoardRequest& request, WallTime now = noon) const {
    const auto answer = gate.admit(request, now);
    const auto* refused = std::get_if<BoardAnswer>(&answer);
    return refused ? refused->status : 0;
  }
};

std::string concrete(std::string_view pattern) {
  std::string path(pattern);
  if (const auto star = path.find('*'); star != std::string::npos)
    path.replace(star, 1, path.starts_with("/wall/") ? "wrong-key" : "pier-1");
  return path;
}

BoardRequest request_of(const Route& route) {
  return {std::string(route.method), concrete(route.path), "", "", "", "192.0.2.1"};
}

std::string cookie_of(const std::string& token) {
  return "theme=dark; " + std::string(session_cookie) + "=" + token;
}

std::string location(const BoardAnswer& answer) {
  for (const auto& [name, value] : answer.fields) {
    if (name == "Location") return value;
  }
  return {};
}

}  // namespace

TEST_CASE("gate: every route, without and with each role, lets pass exactly who may") {
  Door door;
  for (const auto& route : routes()) {
    for (const Role role : {Role::nobody, Role::viewer, Role::keyholder, Role::host}) {
      CAPTURE(std::string(route.method) + " " + std::string(route.path));
      CAPTURE(word(role));
      auto request = request_of(route);
      std::string form_token;
      if (role != Role::nobody) {
        const auto opened = door.sessions.open(role, "Robin", noon);
        request.cookie = cookie_of(opened.token);
        form_token = opened.session.form_token;
      }
      if (route.page == BoardPage::enter) {
        const auto ticket = door.gate.login_ticket(request);
        request.cookie +=
            (request.cookie.empty() ? "" : "; ") + std::string(login_cookie) + "=" + ticket.cookie;
        form_token = ticket.form_token;
      }
      if (route.method == "POST") request.body = "form_token=" + form_token;
      const int status = door.status(request);
      if (route.entry == Entry::key_in_address) {
        CHECK(status == 404);  // No role opens it, only its key.
      } else if (role == Role::nobody && route.entry == Entry::key_or_session) {
        CHECK(status == 401);
      } else if (role >= route.least) {
        CHECK(status == 0);
      } else if (role == Role::nobody) {
        CHECK(status == (route.page == BoardPage::events ? 401 : 303));
      } else {
        CHECK(status == 403);
      }
    }
  }
}

TEST_CASE("gate: no form passes without its token, nor with another session's") {
  Door door;
  const auto mine = door.sessions.open(Role::host, "Robin", noon);
  const auto other = door.sessions.open(Role::host, "Kim", noon);
  for (const auto& route : routes()) {
    if (route.method != "POST") continue;
    CAPTURE(std::string(route.path));
    auto request = request_of(route);
    request.cookie = cookie_of(mine.token);
    for (const std::string& body :
         {std::string(), std::string("form_token="), "form_token=" + other.session.form_token,
          "form_token=" + mine.session.token_hash}) {
      request.body = body;
      CHECK(door.status(request) == 403);
    }
    request.body = "form_token=%zz";
    CHECK(door.status(request) == 400);
  }
}

TEST_CASE("gate: the key of a read-only address opens its own addresses and nothing else") {
  Door door;
  for (const auto& route : routes()) {
    CAPTURE(std::string(route.path));
    auto request = request_of(route);
    request.authorization = "Bearer good-key";
    if (route.entry == Entry::key_in_address) {
      request.path.replace(request.path.find("wrong-key"), 9, "good-key");
      request.authorization.clear();
    }
    const bool opens = route.least == Role::nobody || route.entry != Entry::session;
    if (route.method == "GET") {
      CHECK((door.status(request) == 0) == opens);
    } else {
      CHECK(door.status(request) != 0);
    }
  }
}

TEST_CASE("gate: a wrong or ended key is none, also beside a good cookie") {
  Door door;
  BoardRequest request{"GET", "/v1/sites", "", "", "", ""};
  for (const char* field :
       {"Bearer wrong", "Bearer ", "Basic good-key", "good-key", "Bearer  good-key"}) {
    request.authorization = field;
    CHECK(door.status(request) == 401);
  }
  const auto opened = door.sessions.open(Role::host, "Robin", noon);
  request.cookie = cookie_of(opened.token);
  CHECK(door.status(request) == 401);
  request.authorization.clear();
  CHECK(door.status(request) == 0);
  request.cookie.clear();
  request.authorization = "bearer good-key";
  CHECK(door.status(request) == 0);
  door.keys.use({});
  CHECK(door.status(request) == 401);
}

TEST_CASE("gate: programs are told by problem documents what to change") {
  Door door;
  for (const BoardRequest& request : {BoardRequest{"GET", "/v1/sites", "", "", "", ""},
                                      BoardRequest{"GET", "/v1/nowhere", "", "", "", ""},
                                      BoardRequest{"POST", "/metrics", "", "", "", ""}}) {
    const auto answer = door.gate.admit(request, noon);
    const auto& refused = std::get<BoardAnswer>(answer);
    CHECK(refused.content_type == "application/problem+json");
    CHECK(refused.body.find("\"status\":" + std::to_string(refused.status)) != std::string::npos);
  }
}

TEST_CASE("gate: a login form passes only with the cookie that came with it") {
  Door door;
  BoardRequest request{"POST", "/login", "", "", "", ""};
  const auto ticket = door.gate.login_ticket(request);
  const auto other = door.gate.login_ticket(request);
  REQUIRE(ticket.cookie != other.cookie);
  request.body = "form_token=" + ticket.form_token;
  CHECK(door.status(request) == 403);
  request.cookie = std::string(login_cookie) + "=" + other.cookie;
  CHECK(door.status(request) == 403);
  request.cookie = std::string(login_cookie) + "=" + ticket.cookie;
  CHECK(door.status(request) == 0);
  CHECK(door.gate.login_ticket(request).cookie == ticket.cookie);  // A second page may be open.
}

TEST_CASE("gate: a session that somebody else chose, or whose time is over, is none") {
  Door door;
  BoardRequest request{"GET", "/", "", "", cookie_of("chosen-by-somebody-else"), ""};
  CHECK(door.status(request) == 303);
  const auto opened = door.sessions.open(Role::host, "Robin", noon);
  request.cookie = cookie_of(opened.token);
  CHECK(door.status(request) == 0);
  CHECK(door.status(request, noon + Span::of_h(12)) == 303);
}

TEST_CASE("gate: who must log in comes back to the page that was asked for, and to no other host") {
  Door door;
  const BoardRequest request{"GET", "/history", "subject=elm-street&from=", "", "", ""};
  const auto answer = door.gate.admit(request, noon);
  CHECK(location(std::get<BoardAnswer>(answer)) ==
        "/login?next=/history%3fsubject%3delm-street%26from%3d");
  CHECK(safe_return("/history?subject=elm-street") == "/history?subject=elm-street");
  CHECK(safe_return("/outage/pier-1") == "/outage/pier-1");
  for (const char* elsewhere :
       {"https://example.net/", "//example.net/", "/\\example.net", "javascript:alert(1)", "/login",
        "/v1/events", "/v1/sites", "/metrics", "/wall/good-key", "/calendar.ics",
        "/history?a=1\r\nSet-Cookie: a=b", "", "/board.css", "/nowhere"}) {
    CAPTURE(elsewhere);
    CHECK(safe_return(elsewhere) == "/");
  }
}

TEST_CASE("gate: what does not exist is 404, a wrong method 405 with the right ones") {
  Door door;
  CHECK(door.status({"GET", "/nowhere", "", "", "", ""}) == 404);
  const auto answer = door.gate.admit({"PUT", "/", "", "", "", ""}, noon);
  const auto& refused = std::get<BoardAnswer>(answer);
  CHECK(refused.status == 405);
  CHECK(refused.fields.at(0) == std::pair<std::string, std::string>("Allow", "GET"));
}

TEST_CASE("cookies: found by their whole name, set for this host only") {
  CHECK(cookie_value("a=1; b=2;c=3", "b") == "2");
  CHECK(cookie_value("a=1; b=2;c=3", "c") == "3");
  CHECK(cookie_value("xb=1", "b").empty());
  CHECK(cookie_value("", "b").empty());
  CHECK(set_cookie("a", "1", Span::of_h(1), false) ==
        "a=1; Path=/; HttpOnly; SameSite=Strict; Max-Age=3600");
  CHECK(set_cookie("a", "", Span::of_h(1), true) ==
        "a=; Path=/; HttpOnly; SameSite=Strict; Max-Age=0; Secure");
}
