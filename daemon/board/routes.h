// Every address of the board, with the least role that may use it: the only place that says so.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace ebbwatch {

/// In order: each may do what those before it may.
enum class Role : std::uint8_t {
  nobody,     ///< Not logged in.
  viewer,     ///< Reads.
  keyholder,  ///< Also acknowledges, shelves and adds notes, at their own sites.
  host,       ///< Everything.
};
const char* word(Role role);
/// viewer, keyholder or host; empty for other words.
std::optional<Role> parse_role(std::string_view word);

enum class BoardPage : std::uint8_t {
  login,
  enter,
  leave,
  style,
  script,
  icon,
  panel,
  site,
  outage,
  history,
  history_csv,
  history_json,
  performance,
  drills,
  events,
  acknowledge,
  note,
  mark,
  shelve,
  unshelve,
  drill,
  wall,
  wall_events,
  wall_calendar,
  calendar,
  api_description,
  api_sites,
  api_site,
  api_tanks,
  api_tank,
  api_controllers,
  api_controller,
  api_outages,
  api_outage,
  metrics,
};

/// What shows who is asking.
enum class Entry : std::uint8_t {
  session,         ///< The cookie of somebody who has logged in.
  key_in_address,  ///< The key of a read-only address stands for `*`; no cookie counts.
  key_or_session,  ///< The key as a bearer token, or the cookie: for programs.
};

struct Route {
  std::string_view method;  ///< "GET" also answers HEAD.
  std::string_view path;    ///< `*` stands for one identifier.
  BoardPage page;
  Role least;
  Entry entry = Entry::session;
};

std::span<const Route> routes();

struct RouteMatch {
  const Route* route = nullptr;  ///< Null: no such address, or not by this method.
  std::string id;                ///< What stood for `*`: 1 to 80 of a-z, 0-9 and `-`.
  std::string allow;  ///< Methods that this address has; empty: there is no such address.
};
RouteMatch find_route(std::string_view method, std::string_view path);

}  // namespace ebbwatch
