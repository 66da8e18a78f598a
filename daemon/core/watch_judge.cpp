// Is it a loss, and of what? Asked when a controller's on-delay is over or a battery-backed one
// says that the mains is off, and only at a moment at which this watcher is known to hear.
#include <algorithm>
#include <cmath>

#include "core/watch_impl.h"

namespace ebbwatch {
namespace {

/// A controller whose check-ins are often lost is given more of them, until the chance that all
/// were lost one by one is below so many false losses a year.
constexpr double false_losses_per_year = 0.02;
constexpr double year_s = 365.0 * 86400.0;
/// But never more than this share of the wish on top of it (tenths).
constexpr std::int64_t patience_tenths = 7;
/// An unsteady source is held back; a loss of it that lasts this share longer is told all the same.
constexpr std::int64_t lasting_tenths = 6;
constexpr Span lasting_max = Span::of_min(3);
/// How long an early loss of one tank waits for the rest of its site to be heard or missed.
constexpr Span early_patience = Span::of_min(1);
constexpr Span slack = Span::of_s(10);

}  // namespace

bool Watch::Impl::hold(std::uint32_t index, Instant until) {
  Controller& it = controllers_[index];
  it.early = false;
  wheel_.arm(index, until);
  return true;
}

Witnesses::Answer Watch::Impl::witnesses_answer(std::uint32_t index, Instant at) const {
  const Controller& it = controllers_[index];
  const Arrival& arrival = it.arrival;
  // Still hears: after we began to miss it, and lately (one check-in of its own may have been
  // lost).
  const Instant since = std::max(arrival.expected() - arrival.margin(),
                                 at - arrival.interval() * 2 - arrival.margin());
  if (!plan_.asks_witnesses) return witnesses_.ask(ControllerIndex{index}, since, at);
  return witnesses_.answers(ControllerIndex{index}, since, it.asking.first);
}

bool Watch::Impl::witnesses_agree(std::uint32_t index, Instant at) const {
  if (!witnesses_.any()) return true;
  return silence_confirmed(witnesses_answer(index, at), rules(index).witness_quorum);
}

void Watch::Impl::judge(std::uint32_t index, Instant at) {
  Controller& it = controllers_[index];
  if (it.contact != Contact::overdue) return;
  if (it.outage != Controller::no_outage) {
    // It had returned, but its outage is not over: no news.
    cover(it.outage, index, at);
    return;
  }
  it.figure.settle(at, rules(index).steadiness);
  const Span again = std::max(Span::of_s(1), it.arrival.interval());
  if (plan_.asks_witnesses) {
    if (!heard_out(index, at)) return;
    weigh_around(index, at);
    if (deserted(index, at)) {
      put_up(index, at);
      return;
    }
  }
  const bool unheard_of = plan_.asks_witnesses && lost_its_relay(index, at);
  if (unheard_of || !witnesses_agree(index, at)) {
    it.early = false;
    it.asking = Asking{};
    it.asking.vouched = it.asking.vouched_before = plan_.asks_witnesses && !unheard_of;
    if (it.ripe) hold(index, at + again);
    return;
  }
  Verdict found = verdict(index, at);
  if (it.planned) found.hold_until.reset();  // It was waited for already.
  if (it.early && !it.ripe) {
    it.early = false;
    // Others of the site may show within a moment that it is more than one tank.
    const bool wait = found.hold_until && at < it.early_at + early_patience;
    if (!found.by_battery || wait) {
      const std::uint32_t timer = site_timer(site_of(index).value);
      const Instant look = std::max(found.hold_until.value_or(at), at + Span::of_s(1));
      if (found.hold_until && look < wheel_.due(timer)) wheel_.arm(timer, look);
      return;
    }
    found.hold_until.reset();
  }
  if (found.hold_until) {
    hold(index, std::max(*found.hold_until, at + Span::of_ms(1)));
    return;
  }
  if (found.joins == Controller::no_outage) {
    if (fault_is_mine(index, at)) {
      mine_ = true;
      hold(index, at + again);
      return;
    }
    const Instant lasting = lasts_from(index);
    const bool unsteady = it.figure.unsteady();
    if (!found.by_battery && !it.planned && at < lasting && (unsteady || is_shaky(index, at))) {
      if (unsteady) hold_back(index, found, at);
      hold(index, lasting);
      return;
    }
  }
  lose(index, found, at);
}

/// Half of the longer breaks at a home are followed by another within the hour (measured at real
/// homes, 37 to 70 %): a second one has to last before it is news.
bool Watch::Impl::is_shaky(std::uint32_t index, Instant at) const {
  const Controller& it = controllers_[index];
  return !it.shaken_at.is_never() && at - it.shaken_at < rules(index).steadiness.half_life;
}

Instant Watch::Impl::lasts_from(std::uint32_t index) const {
  const Span longer = rules(index).on_delay * lasting_tenths / 10;
  return controllers_[index].ripe_at + std::min(longer, lasting_max);
}

Watch::Impl::Verdict Watch::Impl::verdict(std::uint32_t index, Instant at) const {
  Verdict out;
  const TankIndex tank = plan_.controllers[index].tank;
  const SiteIndex site = site_of(index);
  out.onset = onset_of(controllers_[index]);
  out.subject = Subject{Scope::controller, index};
  const SiteTally of_site = view_.site(site, out.onset, at);
  const Tally of_tank = view_.tank(tank, out.onset, at);
  verdict_of_site(index, at, of_site, out);
  if (out.subject.scope == Scope::site) {
    verdict_of_group(index, at, out);
  } else if (out.subject.scope == Scope::controller && view_.tank_lost(tank, of_tank)) {
    out.subject = Subject{Scope::tank, tank.value};
    out.by_battery =
        of_tank.together < plan_.tanks[tank.value].detection.quorum.needed(of_tank.live);
    for (const ControllerIndex member : plan_.tanks[tank.value].controllers) {
      if (view_.is_together(member.value, out.onset)) out.lost.push_back(member.value);
    }
  } else if (out.subject.scope == Scope::controller) {
    out.lost.push_back(index);
  }
  std::erase_if(out.lost, [&](std::uint32_t member) {
    return controllers_[member].contact == Contact::silent;
  });
  out.joins = covering(index, out, at);
  if (!out.hold_until) out.hold_until = not_sure_until(index, at, out);
  return out;
}

void Watch::Impl::verdict_of_site(std::uint32_t index, Instant at, const SiteTally& site,
                                  Verdict& out) const {
  const SiteIndex own = site_of(index);
  const bool battery = site.all.on_battery > 0;
  if (view_.site_lost(own, site)) {
    out.subject = Subject{Scope::site, own.value};
    out.by_battery = battery;
    out.part = site.tanks_lost;
    out.whole = site.tanks;
    collect_lost(own, out);
    return;
  }
  const Controller& it = controllers_[index];
  const Instant patience = it.ripe_at + it.arrival.interval();
  // Some could still show that it is more than this one: wait for them, but not long.
  const std::uint32_t possible = site.tanks_lost + site.tanks_open;
  const bool may_widen =
      site.tanks_open > 0 &&
      possible >= plan_.sites[own.value].detection.site_quorum.needed(site.tanks);
  if (may_widen && (!it.ripe || at < patience) && site.all.open_until > at) {
    out.hold_until = it.ripe ? std::min(site.all.open_until, patience) : site.all.open_until;
    return;
  }
  // Several tanks at the same moment share a cause, though others there are still heard.
  if (site.tanks_dark >= 2 && site.all.nats >= 2 * weak_nats) {
    out.subject = Subject{Scope::site, own.value};
    out.partial = true;
    out.part = site.tanks_dark;
    out.whole = site.tanks;
    collect_lost(own, out);
  }
}

void Watch::Impl::collect_lost(SiteIndex site, Verdict& out) const {
  for (const TankIndex tank : plan_.sites[site.value].tanks) {
    for (const ControllerIndex member : plan_.tanks[tank.value].controllers) {
      if (view_.is_together(member.value, out.onset)) out.lost.push_back(member.value);
    }
  }
}

void Watch::Impl::verdict_of_group(std::uint32_t index, Instant at, Verdict& out) const {
  const SiteIndex own = site_of(index);
  const SitePlan& site = plan_.sites[own.value];
  std::optional<GroupTally> best;
  const GroupPlan* group = nullptr;
  for (const Scope scope : {Scope::area, Scope::provider}) {
    const bool area = scope == Scope::area;
    const std::uint32_t which = area ? site.area.value : site.provider.value;
    if (which == AreaIndex::none_value) continue;
    const GroupPlan& candidate = area ? plan_.areas[which] : plan_.providers[which];
    const GroupTally tally = view_.group(candidate, own, out.onset, at, area);
    if (tally.together()) {
      if (best && best->log_odds >= tally.log_odds) continue;
      best = tally;
      group = &candidate;
      out.subject = Subject{scope, which};
      out.hold_until.reset();
      continue;
    }
    // Thin evidence may become thick, or none, within a moment.
    const Controller& it = controllers_[index];
    const Instant patience = it.ripe_at + std::max(it.arrival.interval(), Span::of_min(1));
    const std::uint32_t possible = tally.silent + tally.open;
    const bool undecided = (tally.open > 0 || tally.weak > 0) && possible >= 2 &&
                           possible * 2 >= possible + tally.alive;
    if (!best && undecided && it.ripe && at < patience && tally.open_until > at) {
      out.hold_until = std::min(tally.open_until, patience);
    }
  }
  if (!best) return;
  out.part = best->silent;
  out.whole = best->sites;
  for (const SiteIndex member : group->sites) {
    if (member == own) continue;
    const SiteTally tally = view_.site(member, out.onset, at);
    if (tally.all.together > 0 && tally.all.alive == 0) collect_lost(member, out);
  }
}

std::optional<Instant> Watch::Impl::not_sure_until(std::uint32_t index, Instant at,
                                                   const Verdict& out) const {
  const Controller& it = controllers_[index];
  if (!it.ripe || out.by_battery || out.joins != Controller::no_outage) return std::nullopt;
  const Detection& rule = rules(index);
  const std::int64_t missed = missed_by(it, at);
  const Instant next = missed_at(it, missed + 1);
  const bool alone = out.lost.size() <= 1;
  if (alone && next - it.ripe_at <= it.arrival.interval() / 2 + it.arrival.margin()) {
    // The end of the on-delay falls just before a check-in that could refute it.
    return next;
  }
  const double slots_a_year = year_s / it.arrival.interval().seconds();
  const double needed = std::log(slots_a_year / false_losses_per_year);
  double have = 0;
  for (const std::uint32_t member : out.lost) have += silence_nats(controllers_[member], at);
  const Span wish = std::max(
      rule.on_delay, it.arrival.interval() * std::max<std::int64_t>(rule.min_missed - 1, 1));
  const Instant patience = it.ripe_at + wish * patience_tenths / 10;
  if (have < needed && next <= patience) return next;
  return std::nullopt;
}

bool Watch::Impl::fault_is_mine(std::uint32_t index, Instant at) const {
  if (path_of(index) == Path::local) return false;
  const Onset onset = onset_of(controllers_[index]);
  const bool patient = at - controllers_[index].ripe_at < rules(index).on_delay;
  std::uint32_t sites = 0;
  std::uint32_t late = 0;
  AreaIndex area = plan_.sites[site_of(index).value].area;
  ProviderIndex provider = plan_.sites[site_of(index).value].provider;
  for (std::uint32_t i = 0; i < plan_.sites.size(); ++i) {
    const SitePlan& site = plan_.sites[i];
    if (site.is_watchers_own) continue;
    const Tally all = view_.site(SiteIndex{i}, onset, at).all;
    if (all.live == 0) continue;
    ++sites;
    if (!is_late(SiteIndex{i})) continue;
    ++late;
    if (site.area != area) area = AreaIndex{};
    if (site.provider != provider) provider = ProviderIndex{};
  }
  // Told in the end when the link is known to work, or when somebody is heard all the same.
  if (!patient && (trust_.judges_link() || late < sites)) return false;
  // Nearly all of them late at once, and nothing that they share but this watcher.
  return late >= mass_sites && late * 4 >= sites * 3 && area.is_none() && provider.is_none();
}

/// Whether nobody of the site is in contact at this moment, lost ones left out.
bool Watch::Impl::is_late(SiteIndex site) const {
  for (const TankIndex tank : plan_.sites[site.value].tanks) {
    for (const ControllerIndex member : plan_.tanks[tank.value].controllers) {
      const Controller& it = controllers_[member.value];
      if (it.contact == Contact::present || it.contact == Contact::returning) return false;
      if (it.cut_off) return false;  // Its silence is explained already.
    }
  }
  return true;
}

bool Watch::Impl::contains(Subject wide, Subject narrow) const {
  if (wide == narrow) return true;
  if (wide.scope <= narrow.scope || wide.scope == Scope::watcher) return false;
  std::uint32_t index = narrow.index;
  Scope scope = narrow.scope;
  if (scope == Scope::controller) {
    index = plan_.controllers[index].tank.value;
    scope = Scope::tank;
    if (wide.scope == scope) return wide.index == index;
  }
  if (scope == Scope::tank) {
    index = plan_.tanks[index].site.value;
    scope = Scope::site;
    if (wide.scope == scope) return wide.index == index;
  }
  if (scope != Scope::site) return false;
  const SitePlan& site = plan_.sites[index];
  return wide.scope == Scope::area ? site.area.value == wide.index
                                   : site.provider.value == wide.index;
}

bool Watch::Impl::is_member_of(std::uint32_t controller, Subject subject) const {
  return contains(subject, Subject{Scope::controller, controller});
}

std::optional<SiteIndex> Watch::Impl::site_around(Subject subject) const {
  switch (subject.scope) {
    case Scope::controller:
      return site_of(subject.index);
    case Scope::tank:
      return plan_.tanks[subject.index].site;
    case Scope::site:
      return SiteIndex{subject.index};
    default:
      return std::nullopt;
  }
}

/// The narrowest subject that contains both; `other` where an area and a provider cross.
Subject Watch::Impl::around(Subject one, Subject other) const {
  if (contains(one, other)) return one;
  if (contains(other, one)) return other;
  if (one.scope > Scope::site || other.scope > Scope::site) return other;
  const auto tank_of = [&](Subject it) {
    return it.scope == Scope::controller ? plan_.controllers[it.index].tank : TankIndex{it.index};
  };
  if (one.scope < Scope::site && other.scope < Scope::site && tank_of(one) == tank_of(other)) {
    return Subject{Scope::tank, tank_of(one).value};
  }
  return Subject{Scope::site, site_around(one)->value};
}

/// One that lives on its battery falls silent at a place from which nobody shows any more that the
/// mains is on: the outage that runs there has emptied it.
bool Watch::Impl::ran_down(std::uint32_t index, const Outage& outage, Subject verdict,
                           Instant at) const {
  const bool backed = plan_.controllers[index].supply == Supply::battery_backed;
  if (!backed && !controllers_[index].on_battery()) return false;
  const Subject subject = outage.record.subject;
  const TankIndex tank = plan_.controllers[index].tank;
  if (subject.scope < Scope::site && contains(Subject{Scope::tank, tank.value}, subject) &&
      view_.tank(tank, outage.onset, at).alive == 0) {
    return true;
  }
  const SiteIndex site = site_of(index);
  const bool mains = outage.record.cause == Cause::mains_power;
  const bool here = site_around(subject) == site || (mains && contains(verdict, subject)) ||
                    (subject.scope == Scope::area && is_member_of(index, subject));
  return here && view_.site(site, outage.onset, at).all.alive == 0;
}

/// Whether a silence with this onset may have begun together with any that the outage covers: of
/// each of them a check-in or two before the end may have been lost.
bool Watch::Impl::same_moment(Onset onset, const Outage& outage) const {
  const auto meets = [&](Onset other) {
    return onset.from <= other.to + slack && onset.to + slack >= other.from;
  };
  if (meets(outage.onset)) return true;
  return std::any_of(outage.members.begin(), outage.members.end(), [&](ControllerIndex member) {
    const Controller& it = controllers_[member.value];
    return it.unheard() && meets(onset_of(it));
  });
}

/// The running outage that this silence belongs to: one that already covers its place, one that
/// began at the same moment at the same site or inside what the verdict covers, or one that emptied
/// its battery.
std::uint32_t Watch::Impl::covering(std::uint32_t index, const Verdict& verdict, Instant at) const {
  std::uint32_t found = Controller::no_outage;
  for (std::uint32_t slot = 0; slot < outages_.size(); ++slot) {
    const Outage& outage = outages_[slot];
    if (!outage.used) continue;
    const bool together = same_moment(verdict.onset, outage);
    const Subject subject = outage.record.subject;
    if (is_member_of(index, subject)) {
      const bool told = subject.scope == Scope::tank ||
                        (subject.scope == Scope::site && !outage.partial) ||
                        (subject.scope == Scope::area && outage.record.cause == Cause::mains_power);
      if (together || told) return slot;
    }
    const bool same_place =
        contains(verdict.subject, subject) || site_around(subject) == site_of(index);
    const bool belongs = (together && same_place) || ran_down(index, outage, verdict.subject, at);
    if (belongs && found == Controller::no_outage) found = slot;
  }
  return found;
}

}  // namespace ebbwatch
