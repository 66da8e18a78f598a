// What a fleet of make-believe controllers does, as read from a small YAML file:
//
//   daemon: "http://127.0.0.1:8460"  # where check-ins go; --url overrides it
//   seed: 7                          # the same seed gives the same run
//   length: 100s                     # scenario time after which the fleet ends
//   compression: 1                   # scenario seconds in one real second
//   defaults:                        # for all controllers that do not say otherwise
//     {interval: 60s, jitter: 0s, loss: 0, start_delay: 0s, supply: mains}
//   controllers:
//     - {id: lagoon-main, site: harbour-lane, interval: 2s}
//     - {id: lagoon-logger, site: harbour-lane, interval: 3s, supply: battery_backed}
//   generate:                        # club-001 … club-040, dealt out to sites club-site-1 … -8
//     - {prefix: club, count: 40, sites: 8, interval: 60s, jitter: 2s, loss: 0.01}
//   happenings:
//     - {at: 20s, blip: kelp-main, for: 5s}          # a controller or a site: sent, never arrives
//     - {at: 45s, mains_cut: mill-cottage, for: 40s} # a site: mains controllers are off and start
//                                                    # anew, battery-backed ones go on, on battery
//     - {at: 70s, crash: lagoon-main, for: 10s}      # a controller: off, then seq and uptime from
//     0
//
// interval: from one check-in to the next. jitter: each is late by 0 to so much (at most the
// interval). loss: the share of check-ins that are lost on their way, 0 to 1. start_delay: the
// controller is switched on so late. Durations have a unit (ms, s, min, h, d). Identifiers must be
// those of the daemon's configuration.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "core/result.h"
#include "core/time.h"

namespace ebbwatch::fleet {

struct FleetController {
  std::string id;
  std::string site;
  Span interval = Span::of_min(1);  ///< > 0
  Span jitter;
  double loss = 0;
  Span start_delay;
  bool battery_backed = false;
};

struct Happening {
  enum class Kind { blip, mains_cut, crash };
  Kind kind = Kind::blip;
  std::string subject;  ///< A controller or a site, by kind.
  Span at;
  Span length;  ///< > 0
};

struct Scenario {
  std::string daemon;
  std::uint64_t seed = 1;
  Span length = Span::of_min(10);
  double compression = 1;
  std::vector<FleetController> controllers;  ///< Written out and generated ones.
  std::vector<Happening> happenings;         ///< By time.
};

/// All problems of the file in one text, each "name:line:column: key: found …; allowed …".
Result<Scenario> read_scenario(std::string_view yaml, const std::string& name);
Result<Scenario> read_scenario_file(const std::string& path);

}  // namespace ebbwatch::fleet
