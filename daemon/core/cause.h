// What most likely failed: naive Bayes over three causes with one table of likelihoods.
//
// Every row of the table is one observation; its three numbers are the chance of seeing it when the
// mains, the internet link or the controller failed. None of them was measured at real tanks: each
// is a plain estimate with its reason beside it (cause.cpp), rounded to what can be defended, and
// floors keep any single row from deciding alone more than it can know.
#pragma once

#include <array>
#include <cstdint>

#include "core/decision.h"

namespace ebbwatch {

enum class Observation : std::uint8_t {
  // What is silent.
  one_of_tank,     ///< One controller, while others of its tank are heard.
  lone_of_tank,    ///< The only controller of a tank, while other tanks of the site are heard.
  whole_tank,      ///< Several controllers: the whole tank, while other tanks are heard.
  lone_site,       ///< The only controller of a site.
  whole_site,      ///< Several controllers: the whole site.
  whole_area,      ///< Several sites that share the mains.
  whole_provider,  ///< Several sites that share the internet provider.
  // What is known while it lasts.
  battery_reported,    ///< A battery-backed controller there reported mains off.
  battery_says_mains,  ///< A battery-backed controller of the same subject reports mains on.
  mains_fed_alive,     ///< A mains-fed controller of the same subject is still heard.
  site_alive,          ///< Some controller of the site is still heard.
  // What the return tells. "Mains-fed" and "battery-backed" as configured.
  mains_fed_restarted,     ///< One mains-fed controller started anew.
  several_restarted,       ///< Two or more started anew within minutes of each other.
  mains_fed_kept_running,  ///< One mains-fed controller ran through the whole silence.
  battery_kept_running,    ///< One battery-backed controller ran through.
  battery_restarted,       ///< One battery-backed controller started anew.
  buffered_on_mains,       ///< Stored check-ins from the silence say that mains was on.
  buffered_on_battery,     ///< Stored check-ins from the silence say that mains was off.
};
inline constexpr std::size_t observations = 18;

/// Chance of the observation given each cause.
struct Likelihood {
  Observation observation;
  double mains;
  double internet;
  double controller;
  const char* reason;
};
const std::array<Likelihood, observations>& likelihoods();

/// How often each was observed. Repeats of the same kind add less: they share one reason.
class CauseFacts {
 public:
  void add(Observation observation, std::uint32_t times = 1) {
    counts_[static_cast<std::size_t>(observation)] += times;
  }
  std::uint32_t count(Observation observation) const {
    return counts_[static_cast<std::size_t>(observation)];
  }

 private:
  std::array<std::uint32_t, observations> counts_{};
};

struct CauseBelief {
  Cause cause = Cause::undetermined;
  double confidence = 0;  ///< Of `cause`; of the best guess when undetermined.
};

/// Below this the best guess is not named.
inline constexpr double named_from = 0.6;

CauseBelief believe(const CauseFacts& facts);

}  // namespace ebbwatch
