#include "board/routes.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

TEST_CASE("routes: an identifier is taken from the address") {
  const auto match = find_route("GET", "/outage/harbour-17");
  REQUIRE(match.route != nullptr);
  CHECK(match.route->page == BoardPage::outage);
  CHECK(match.id == "harbour-17");
  CHECK(find_route("HEAD", "/site/elm-street").route->page == BoardPage::site);
  CHECK(find_route("POST", "/outage/harbour-17/acknowledge").id == "harbour-17");
}

TEST_CASE("routes: nothing climbs out of an address, and no identifier is odd or endless") {
  for (const char* path :
       {"/site/../outage/x", "/site/..", "/site/", "/site/%2e%2e", "/site/a/b", "/site/A", "//",
        "/board.css/", "/site/a%00", "", "/outage//acknowledge", "/../etc/passwd"}) {
    CAPTURE(path);
    CHECK(find_route("GET", path).route == nullptr);
    CHECK(find_route("GET", path).allow.empty());
  }
  CHECK(find_route("GET", "/site/" + std::string(81, 'a')).route == nullptr);
  CHECK(find_route("GET", "/site/" + std::string(80, 'a')).route != nullptr);
}

TEST_CASE("routes: a known address with another method says which ones it has") {
  const auto match = find_route("DELETE", "/login");
  CHECK(match.route == nullptr);
  CHECK(match.allow == "GET, POST");
  CHECK(find_route("GET", "/outage/harbour-17/acknowledge").allow == "POST");
}

TEST_CASE(
    "routes: nothing that changes the world is open to viewers, and nobody sees but the door") {
  for (const auto& route : routes()) {
    CAPTURE(std::string(route.path));
    if (route.least == Role::nobody) {
      CHECK((route.path == "/login" || route.path.starts_with("/board.") ||
             route.path == "/v1/openapi.json"));
    }
    if (route.entry != Entry::session) {
      CHECK(route.method == "GET");  // A key never acts.
    }
    if (route.method == "POST" && route.least < Role::keyholder) {
      CHECK((route.page == BoardPage::enter || route.page == BoardPage::leave));
    }
  }
}

TEST_CASE("roles: words go both ways") {
  for (const Role role : {Role::viewer, Role::keyholder, Role::host}) {
    CHECK(parse_role(word(role)) == role);
  }
  CHECK_FALSE(parse_role("nobody"));
  CHECK_FALSE(parse_role(""));
}
