#include "core/scope.h"

#include <algorithm>
#include <cmath>

namespace ebbwatch {
namespace {

// Our own estimates: of the outages seen at one site, the share that has a cause common to its area
// or provider; the chance that a site of an area or provider that failed is heard all the same (a
// battery, another feeder, a second link); the most that one site's silence may weigh.
constexpr double common_share = 0.2;
constexpr double heard_all_the_same = 0.1;
constexpr double site_nats_max = 8;
constexpr double odds_needed = 20;

/// A router holds packets back, clocks of check-ins differ: so far apart two ends may look.
constexpr Span slack = Span::of_s(10);

}  // namespace

void Tally::add(const Tally& other) {
  live += other.live;
  together += other.together;
  alive += other.alive;
  on_battery += other.on_battery;
  mute += other.mute;
  open += other.open;
  nats += other.nats;
  open_until = std::max(open_until, other.open_until);
}

bool GroupTally::together() const {
  return silent >= 2 && log_odds >= std::log(odds_needed) && silent * 2 >= silent + alive;
}

bool ScopeView::is_together(std::uint32_t index, Onset onset) const {
  const Controller& it = controllers_[index];
  if (!it.unheard() || it.asking.vouched || it.cut_off) return false;
  const Onset own = onset_of(it);
  return own.from <= onset.to + slack && own.to + slack >= onset.from;
}

void ScopeView::count_heard(std::uint32_t index, Tally& tally) const {
  const Controller& it = controllers_[index];
  const bool backed = plan_.controllers[index].supply == Supply::battery_backed;
  if (it.on_battery()) {
    tally.on_battery = 1;
  } else if (backed && it.last_power == Power::unknown) {
    tally.mute = 1;
  } else {
    tally.alive = 1;
  }
}

Tally ScopeView::controller(std::uint32_t index, Onset onset, Instant at) const {
  const Controller& it = controllers_[index];
  Tally tally;
  switch (it.contact) {
    case Contact::enrolled:
      return tally;
    case Contact::silent:
    case Contact::overdue:
      if (it.asking.vouched) {
        count_heard(index, tally);  // By others.
      } else if (is_together(index, onset)) {
        tally.together = 1;
        tally.nats = silence_nats(it, at);
      } else if (it.last_heard > onset.to) {
        count_heard(index, tally);
      } else if (it.contact == Contact::silent) {
        return tally;  // Lost before, by something else.
      } else {
        tally.open = 1;  // Late, but not since then: a lost check-in, or another matter.
        tally.open_until = at + it.arrival.interval();
      }
      break;
    case Contact::present:
    case Contact::returning:
      if (it.last_heard > onset.to) {
        count_heard(index, tally);
      } else if (it.on_battery() && it.last_heard >= onset.from) {
        tally.on_battery = 1;
      } else {
        tally.open = 1;
        tally.open_until = it.arrival.expected() + it.arrival.margin();
      }
      break;
  }
  tally.live = 1;
  return tally;
}

Tally ScopeView::tank(TankIndex tank, Onset onset, Instant at) const {
  Tally tally;
  for (const ControllerIndex member : plan_.tanks[tank.value].controllers) {
    tally.add(controller(member.value, onset, at));
  }
  return tally;
}

bool ScopeView::tank_lost(TankIndex tank, const Tally& tally) const {
  if (tally.live == 0) return false;
  const Quorum quorum = plan_.tanks[tank.value].detection.quorum;
  if (tally.together > 0 && tally.together >= quorum.needed(tally.live)) return true;
  return tally.on_battery > 0 && tally.alive == 0 && tally.open == 0;
}

SiteTally ScopeView::site(SiteIndex site, Onset onset, Instant at) const {
  SiteTally sum;
  for (const TankIndex tank : plan_.sites[site.value].tanks) {
    const Tally tally = this->tank(tank, onset, at);
    if (tally.live == 0) continue;
    ++sum.tanks;
    sum.all.add(tally);
    if (tally.together > 0) ++sum.tanks_touched;
    if (tally.together > 0 && tally.alive + tally.open == 0) ++sum.tanks_dark;
    if (tank_lost(tank, tally)) {
      ++sum.tanks_lost;
    } else if (tally.open > 0 && tally.alive == 0) {
      ++sum.tanks_open;
    }
  }
  return sum;
}

bool ScopeView::site_lost(SiteIndex site, const SiteTally& tally) const {
  if (tally.tanks == 0 || tally.all.together == 0) return false;
  return tally.mains_gone() ||
         tally.tanks_lost >= plan_.sites[site.value].detection.site_quorum.needed(tally.tanks);
}

GroupTally ScopeView::group(const GroupPlan& group, SiteIndex seed, Onset onset, Instant at,
                            bool shares_mains) const {
  GroupTally sum;
  sum.sites = 1;
  sum.silent = 1;
  sum.log_odds = std::log(common_share);
  for (const SiteIndex member : group.sites) {
    if (member == seed) continue;
    const SiteTally tally = site(member, onset, at);
    const Tally& all = tally.all;
    if (all.live == 0) continue;
    ++sum.sites;
    const bool mains_gone = shares_mains && all.on_battery > 0 && all.alive == 0;
    // One that never says what feeds it shows that the link works, not that the mains is on.
    const std::uint32_t heard = shares_mains ? all.alive : all.alive + all.on_battery + all.mute;
    if (mains_gone) {
      ++sum.silent;
      sum.log_odds += site_nats_max;
    } else if (heard > 0) {
      ++sum.alive;
      sum.log_odds += std::log(heard_all_the_same);
    } else if (all.together > 0) {
      ++sum.silent;
      if (all.nats < weak_nats) ++sum.weak;
      sum.log_odds += std::min(all.nats, site_nats_max);
      if (all.nats < weak_nats) sum.open_until = std::max(sum.open_until, at + Span::of_min(1));
    } else if (all.open > 0) {
      ++sum.open;
      sum.open_until = std::max(sum.open_until, all.open_until);
    }
  }
  return sum;
}

}  // namespace ebbwatch
