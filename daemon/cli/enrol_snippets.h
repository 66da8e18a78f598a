// Ready lines for a controller that was given a key: for one watcher, and for several at once.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/time.h"

namespace ebbwatch {

/// How a controller reaches one watcher.
struct CheckInPlace {
  struct Udp {
    std::string host, port;  ///< An IPv6 host stands in brackets, "[2001:db8::1]".
  };
  std::string watcher;
  std::string base;  ///< "https://breakwater.example.net:8460", without a slash at the end.
  std::string key;   ///< The controller's, at this watcher.
  std::optional<Udp> udp;

  std::string check_in_url() const { return base + "/v1/check-in"; }
  std::string capability_url() const { return base + "/v1/c/" + key; }
};

/// "host:8460" or "[2001:db8::1]:8460" in its parts. @pre host_port_fault() finds none.
CheckInPlace::Udp udp_place_in(const std::string& host_and_port);

/// Lines to check in at one watcher. @param replaced an earlier key stops working.
std::string snippets_for_one(const std::string& controller, const CheckInPlace& place,
                             Span interval, bool replaced);
/// Lines to check in at all of them in one go, so that none waits for another. Empty for one.
std::string snippets_for_all(const std::string& controller, const std::vector<CheckInPlace>& places,
                             Span interval);

}  // namespace ebbwatch
