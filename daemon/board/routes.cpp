#include "board/routes.h"

#include <algorithm>

namespace ebbwatch {
namespace {

constexpr Route table[] = {
    {"GET", "/login", BoardPage::login, Role::nobody},
    {"POST", "/login", BoardPage::enter, Role::nobody},
    {"GET", "/board.css", BoardPage::style, Role::nobody},
    {"GET", "/board.js", BoardPage::script, Role::nobody},
    {"GET", "/board.svg", BoardPage::icon, Role::nobody},
    {"POST", "/logout", BoardPage::leave, Role::viewer},
    {"GET", "/", BoardPage::panel, Role::viewer},
    {"GET", "/site/*", BoardPage::site, Role::viewer},
    {"GET", "/outage/*", BoardPage::outage, Role::viewer},
    {"GET", "/history", BoardPage::history, Role::viewer},
    {"GET", "/history.csv", BoardPage::history_csv, Role::viewer},
    {"GET", "/history.json", BoardPage::history_json, Role::viewer},
    {"GET", "/performance", BoardPage::performance, Role::viewer},
    {"GET", "/drills", BoardPage::drills, Role::viewer},
    {"GET", "/v1/events", BoardPage::events, Role::viewer},
    {"POST", "/outage/*/acknowledge", BoardPage::acknowledge, Role::keyholder},
    {"POST", "/outage/*/note", BoardPage::note, Role::keyholder},
    {"POST", "/outage/*/mark", BoardPage::mark, Role::host},
    {"POST", "/site/*/shelve", BoardPage::shelve, Role::keyholder},
    {"POST", "/site/*/unshelve", BoardPage::unshelve, Role::keyholder},
    {"POST", "/drill", BoardPage::drill, Role::host},
    {"GET", "/calendar.ics", BoardPage::calendar, Role::viewer},
    {"GET", "/wall/*", BoardPage::wall, Role::viewer, Entry::key_in_address},
    {"GET", "/wall/*/events", BoardPage::wall_events, Role::viewer, Entry::key_in_address},
    {"GET", "/wall/*/calendar.ics", BoardPage::wall_calendar, Role::viewer, Entry::key_in_address},
    {"GET", "/v1/openapi.json", BoardPage::api_description, Role::nobody},
    {"GET", "/v1/sites", BoardPage::api_sites, Role::viewer, Entry::key_or_session},
    {"GET", "/v1/sites/*", BoardPage::api_site, Role::viewer, Entry::key_or_session},
    {"GET", "/v1/tanks", BoardPage::api_tanks, Role::viewer, Entry::key_or_session},
    {"GET", "/v1/tanks/*", BoardPage::api_tank, Role::viewer, Entry::key_or_session},
    {"GET", "/v1/controllers", BoardPage::api_controllers, Role::viewer, Entry::key_or_session},
    {"GET", "/v1/controllers/*", BoardPage::api_controller, Role::viewer, Entry::key_or_session},
    {"GET", "/v1/outages", BoardPage::api_outages, Role::viewer, Entry::key_or_session},
    {"GET", "/v1/outages/*", BoardPage::api_outage, Role::viewer, Entry::key_or_session},
    {"GET", "/metrics", BoardPage::metrics, Role::viewer, Entry::key_or_session},
};

constexpr std::size_t id_chars_max = 80;

bool identifier_like(std::string_view text) {
  return !text.empty() && text.size() <= id_chars_max &&
         std::all_of(text.begin(), text.end(), [](char c) {
           return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-';
         });
}

/// What stands for `*`, or empty text when there is none in the pattern; nothing: no match.
std::optional<std::string> fits(std::string_view pattern, std::string_view path) {
  const auto star = pattern.find('*');
  if (star == std::string_view::npos) {
    return pattern == path ? std::optional<std::string>("") : std::nullopt;
  }
  const auto before = pattern.substr(0, star), after = pattern.substr(star + 1);
  if (path.size() < before.size() + after.size() || !path.starts_with(before) ||
      !path.ends_with(after)) {
    return std::nullopt;
  }
  const auto id = path.substr(before.size(), path.size() - before.size() - after.size());
  if (!identifier_like(id)) return std::nullopt;
  return std::string(id);
}

}  // namespace

const char* word(Role role) {
  switch (role) {
    case Role::nobody:
      return "nobody";
    case Role::viewer:
      return "viewer";
    case Role::keyholder:
      return "keyholder";
    case Role::host:
      return "host";
  }
  return "";
}

std::optional<Role> parse_role(std::string_view text) {
  for (const Role role : {Role::viewer, Role::keyholder, Role::host}) {
    if (text == word(role)) return role;
  }
  return std::nullopt;
}

std::span<const Route> routes() {
  return table;
}

RouteMatch find_route(std::string_view method, std::string_view path) {
  if (method == "HEAD") method = "GET";
  RouteMatch match;
  for (const Route& route : table) {
    auto id = fits(route.path, path);
    if (!id) continue;
    match.allow += (match.allow.empty() ? "" : ", ") + std::string(route.method);
    if (route.method != method) continue;
    match.route = &route;
    match.id = std::move(*id);
  }
  return match;
}

}  // namespace ebbwatch
