// Asks the uplink references whether our own link to the internet works. One coroutine, one check
// of every reference each `uplink_every`; each check ends within its time limit.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <functional>
#include <vector>

#include "core/ids.h"
#include "settings/settings.h"

namespace ebbwatch {

/// Told once per reference and round, on the loop.
using UplinkHeard = std::function<void(ReferenceIndex, bool answered)>;

/// Runs until cancelled. A reference answers when a TCP connection to it opens, or is refused by
/// the host itself: both came back over our link. Nothing is sent and nothing it says is trusted,
/// so an `http` reference is asked by its host and port only.
boost::asio::awaitable<void> check_uplink(std::vector<UplinkReference> references, Span every,
                                          UplinkHeard heard);

/// Host and port of a reference's target: "192.0.2.53:53", "[2001:db8::1]:53", or a URL with the
/// scheme's port where it names none. Empty host when it cannot be read.
struct HostPort {
  std::string host, port;
};
HostPort host_and_port(const UplinkReference& reference);

}  // namespace ebbwatch
