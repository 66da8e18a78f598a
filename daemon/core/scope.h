// Widest true scope: who fell silent together with a controller, and what that makes of its tank,
// its site, its area and its provider. Chance coincidences are weighed by numbers, in nats.
#pragma once

#include <cstdint>
#include <vector>

#include "core/contact.h"
#include "core/site_plan.h"

namespace ebbwatch {

/// Silence that weighs less than this (nats) is no evidence of a common fault yet.
inline constexpr double weak_nats = 5;

/// What is known of some controllers with respect to one onset. "Together": silent since it.
struct Tally {
  std::uint32_t live = 0;  ///< Heard lately or silent together; those lost before do not count.
  std::uint32_t together = 0;
  std::uint32_t alive = 0;       ///< Heard since, with mains.
  std::uint32_t on_battery = 0;  ///< Heard since, and running on battery.
  std::uint32_t mute = 0;        ///< Heard since, battery-backed, and never said what feeds it.
  std::uint32_t open = 0;        ///< Not expected yet since the onset: may be either.
  double nats = 0;               ///< Weight of those silent together.
  Instant open_until;            ///< When the last of the open ones will have shown.

  void add(const Tally& other);
};

struct SiteTally {
  Tally all;
  std::uint32_t tanks = 0;          ///< With a live controller.
  std::uint32_t tanks_lost = 0;     ///< By their quorum, or without mains by a battery's word.
  std::uint32_t tanks_touched = 0;  ///< With someone silent together.
  std::uint32_t tanks_open = 0;     ///< Undecided because of open controllers.
  std::uint32_t tanks_dark = 0;     ///< Touched, and nobody there shows that the mains is on.

  /// A battery says that the mains is off, and nobody shows that it is on.
  bool mains_gone() const {
    return all.together > 0 && all.on_battery > 0 && all.alive + all.open == 0;
  }
};

/// One group of sites that share a cause.
struct GroupTally {
  std::uint32_t sites = 0;   ///< With live controllers, the seed's own included.
  std::uint32_t silent = 0;  ///< Silent together, the seed's own included.
  std::uint32_t alive = 0;
  std::uint32_t open = 0;
  std::uint32_t weak = 0;  ///< Silent together, but on thin evidence.
  double log_odds = 0;     ///< That one cause took them, against chance.
  Instant open_until;

  bool together() const;
};

class ScopeView {
 public:
  ScopeView(const WatchPlan& plan, const std::vector<Controller>& controllers)
      : plan_(plan), controllers_(controllers) {}

  /// Whether this controller fell silent in the onset (or may have, with a check-in lost before).
  bool is_together(std::uint32_t controller, Onset onset) const;
  Tally controller(std::uint32_t controller, Onset onset, Instant at) const;
  Tally tank(TankIndex tank, Onset onset, Instant at) const;
  /// Whether the tank is lost: by its quorum, or, when a battery-backed controller says that the
  /// mains is off, if nothing there is fed by it any more.
  bool tank_lost(TankIndex tank, const Tally& tally) const;
  SiteTally site(SiteIndex site, Onset onset, Instant at) const;
  bool site_lost(SiteIndex site, const SiteTally& tally) const;
  GroupTally group(const GroupPlan& group, SiteIndex seed, Onset onset, Instant at,
                   bool shares_mains) const;

 private:
  void count_heard(std::uint32_t controller, Tally& tally) const;

  const WatchPlan& plan_;
  const std::vector<Controller>& controllers_;
};

}  // namespace ebbwatch
