// Contact of each controller: what a check-in changes at once, and what its absence changes later.
#include <algorithm>

#include "core/watch_impl.h"

namespace ebbwatch {
namespace {

/// A break of contact counts against the steadiness of a source from this share of its on-delay.
constexpr std::int64_t break_share = 4;
constexpr std::int64_t break_missed = 2;
/// An outage that was over within so many on-delays may be the first of a spell.
constexpr std::int64_t short_outage = 2;
/// Time that a controller with its router may take to start.
constexpr Span restart_time = Span::of_s(90);
/// Less than this may be one check-in that was lost on the way.
constexpr double thin_nats = 4;
/// A controller's clock may run so much slower than ours, and its uptime is in whole seconds.
constexpr double uptime_share = 0.98;

constexpr double uptime_slack_s = 5;

}  // namespace

void Watch::Impl::check_in(const CheckIn& check_in, Instant at) {
  const std::uint32_t index = check_in.controller.value;
  Controller& it = controllers_[index];
  const Path path = path_of(index);
  if (path == Path::remote) close(trust_.heard_remote(at));
  if (!check_in.relayed) {
    it.by_broker = check_in.by_broker;
    if (it.by_broker) broker_answers(true, at);
    it.cut_off = false;
  }
  if (check_in.buffered) {
    if (it.unheard() || it.contact == Contact::returning) ++it.buffered;
    if (check_in.power != Power::unknown) it.buffered_power = check_in.power;
    return;
  }
  Freshness freshness = it.newest.judge(check_in, at);
  if (freshness == Freshness::stale) {
    if (!it.newest.take_stale(check_in, at, it.arrival.interval())) return;
    freshness = Freshness::restarted;
  }
  end_mass_silence(index, at);
  const bool restarted = freshness == Freshness::restarted;
  ArrivalFacts facts;
  facts.sent_since = restarted ? 0 : it.newest.sent_since(check_in);
  facts.phase_lost = restarted || it.fresh_phase || it.contact == Contact::silent;
  if (it.contact == Contact::overdue) note_break(index, at);
  if (it.contact == Contact::silent) {
    begin_return(index, check_in, restarted, at);
  } else if (it.contact == Contact::returning) {
    ++it.back.heard;
  } else if (it.contact != Contact::present) {
    it.contact = Contact::present;
    it.contact_since = at;
    it.buffered = 0;
  }
  it.ripe = false;
  it.early = false;
  it.asking = Asking{};
  it.fresh_phase = false;
  it.blind = Span{};
  it.not_before = Instant{};
  it.newest.take(check_in, at);
  it.arrival.heard(at, facts);
  it.last_heard = at;
  if (!check_in.relayed) it.last_direct = at;
  it.planned = false;
  if (check_in.next_in) it.arrival.expect_at(at + *check_in.next_in);
  if (check_in.leaving) {
    it.planned = true;
    it.planned_at = at;
    it.planned_until = at + *check_in.leaving;
    it.arrival.expect_at(it.planned_until + it.arrival.interval());
  }
  arm(index);
  take_power(index, check_in, at);
}

void Watch::Impl::take_power(std::uint32_t index, const CheckIn& check_in, Instant at) {
  if (check_in.power == Power::unknown) return;
  Controller& it = controllers_[index];
  const bool battery = check_in.power == Power::battery;
  if (battery && !it.on_battery()) it.battery_since = at;
  if (!battery) {
    it.battery_since = Instant::never();
    it.mains_seen_at = at;
  }
  it.last_power = check_in.power;
  it.last_power_at = at;
  if (!battery) return;
  hear_of_battery(index, at);
  mains_report(site_of(index), at);
}

void Watch::Impl::begin_return(std::uint32_t index, const CheckIn& check_in, bool restarted,
                               Instant at) {
  Controller& it = controllers_[index];
  const double silence_s = (at - it.last_heard).seconds();
  Return back;
  back.at = at;
  back.unbroken_since = at;
  back.heard = 1;
  // A return that breaks again belongs to the same story: what the first one told still counts.
  back.restarted = restarted || it.back.restarted;
  if (check_in.uptime_s) {
    const double uptime_s = *check_in.uptime_s;
    back.uptime_known = true;
    back.started_at = at - Span::of_seconds(std::min(uptime_s, 4e9));
    back.kept_running = !back.restarted && uptime_s + uptime_slack_s >= silence_s * uptime_share;
    if (!it.newest.uptime_s()) back.restarted = uptime_s < silence_s;
  }
  const std::int64_t sent = restarted ? 0 : it.newest.sent_since(check_in);
  back.seq_known = sent > 0;
  back.sent_unheard = static_cast<std::uint32_t>(std::max<std::int64_t>(sent - 1, 0));
  it.back = back;
  const Instant missed_from = it.arrival.expected() + it.blind;
  if (at - missed_from < rules(index).on_delay * short_outage) it.shaken_at = at;
  it.contact = Contact::returning;
  it.contact_since = at;
}

void Watch::Impl::note_break(std::uint32_t index, Instant at) {
  Controller& it = controllers_[index];
  const Instant missed_from = it.arrival.expected() + it.blind;
  if (missed_by(it, at) < break_missed) return;
  if (at - missed_from < rules(index).on_delay / break_share) return;
  it.figure.add(at, rules(index).steadiness);
}

void Watch::Impl::arm(std::uint32_t index) {
  Controller& it = controllers_[index];
  Instant due = Instant::never();
  switch (it.contact) {
    case Contact::enrolled:
    case Contact::silent:
      break;
    case Contact::present:
      due = it.arrival.expected() + it.arrival.margin();
      break;
    case Contact::overdue:
      due = confirm_at(it, rules(index));
      // Asked so early that the answers are there when it is due.
      if (plan_.asks_witnesses && it.asking.last.is_never()) {
        due = std::max({due - plan_.witness_limit, it.contact_since, it.asking.not_before});
      }
      break;
    case Contact::returning: {
      const Instant over = it.back.unbroken_since + rules(index).off_delay;
      // One word is not contact: with long intervals the second one is waited for.
      due =
          it.back.heard < 2 ? break_at(it) : std::min(std::max(over, it.last_heard), break_at(it));
      break;
    }
  }
  wheel_.arm(index, due);
}

void Watch::Impl::fire(std::uint32_t index, Instant at) {
  Controller& it = controllers_[index];
  switch (it.contact) {
    case Contact::enrolled:
    case Contact::silent:
      return;
    case Contact::present:
      it.contact = Contact::overdue;
      it.contact_since = at;
      it.blind = Span{};
      it.not_before = Instant{};
      it.early_at = Instant::never();
      it.buffered = 0;
      arm(index);
      mains_report(site_of(index), at);
      return;
    case Contact::overdue:
      if (plan_.asks_witnesses && not_yet_due(index, at)) return;
      if (!it.ripe) it.ripe_at = at;
      it.ripe = true;
      put_up(index, at);
      return;
    case Contact::returning:
      fire_returning(index, at);
      return;
  }
}

void Watch::Impl::fire_returning(std::uint32_t index, Instant at) {
  Controller& it = controllers_[index];
  if (at >= break_at(it)) {
    // Contact was broken again before the off-delay was over: the same silence goes on.
    it.contact = Contact::silent;
    it.contact_since = at;
    it.figure.add(at, rules(index).steadiness);
    if (it.outage != Controller::no_outage) {
      settle(it.outage, at);
      if (it.outage != Controller::no_outage) reconsider(it.outage, at);
    }
    return;
  }
  if (at > it.arrival.expected() + it.arrival.margin()) {
    // Just now it is late: the next check-in decides, or its absence.
    wheel_.arm(index, break_at(it));
    return;
  }
  it.contact = Contact::present;
  it.contact_since = at;
  arm(index);
  if (it.outage != Controller::no_outage) settle(it.outage, at);
}

void Watch::Impl::put_up(std::uint32_t index, Instant at) {
  Controller& it = controllers_[index];
  it.ready_at = at;
  if (it.queued) return;
  it.queued = true;
  ready_.push_back(index);
}

bool Watch::Impl::on_battery_since(std::uint32_t index, Onset onset) const {
  const Controller& it = controllers_[index];
  if (!it.on_battery() || it.battery_since.is_never()) return false;
  return it.battery_since >= onset.from - it.arrival.interval() &&
         it.battery_since <= onset.to + it.arrival.interval() * 2;
}

/// Between which moments the mains of the site went off, as the check-ins of this onset tell.
Watch::Impl::MainsOff Watch::Impl::mains_off(SiteIndex site, Onset onset, Instant at) const {
  MainsOff off;
  double nats = 0;
  Instant missed = Instant::never();
  for (const TankIndex tank : plan_.sites[site.value].tanks) {
    for (const ControllerIndex member : plan_.tanks[tank.value].controllers) {
      const Controller& it = controllers_[member.value];
      if (on_battery_since(member.value, onset)) {
        ++off.reports;
        off.by = std::min(off.by, it.battery_since);
        off.not_before = std::max(off.not_before, it.mains_seen_at);
        off.newest = std::max(off.newest, it.last_power_at);
      } else if (view_.is_together(member.value, onset)) {
        nats += silence_nats(it, at);
        off.not_before = std::max(off.not_before, it.last_heard);
      }
    }
  }
  // The first missed check-in tells when it went off, unless it was missed for another reason.
  if (nats < thin_nats) return off;
  for (const TankIndex tank : plan_.sites[site.value].tanks) {
    for (const ControllerIndex member : plan_.tanks[tank.value].controllers) {
      const Controller& it = controllers_[member.value];
      if (!view_.is_together(member.value, onset) || it.on_battery()) continue;
      if (it.arrival.expected() > off.not_before) missed = std::min(missed, it.arrival.expected());
    }
  }
  off.by = std::min(off.by, missed);
  return off;
}

/// From when on the reports of the site's battery-backed controllers are enough to tell the loss of
/// the mains-fed `seed`; never() while they are not.
Instant Watch::Impl::mains_believed_at(SiteIndex site, std::uint32_t seed, Instant at) const {
  const Controller& it = controllers_[seed];
  const MainsReport& rule = rules(seed).mains_report;
  const MainsOff off = mains_off(site, onset_of(it), at);
  if (off.reports < std::max(rule.quorum, 1U)) return Instant::never();
  if (off.newest - off.by >= rule.at_least) return off.newest;
  // Had it come back it would have been heard by now: a check-in after time enough to start again.
  const Span since_first = off.by + restart_time - it.arrival.expected();
  const std::int64_t slots =
      since_first.us <= 0 ? 0 : 1 + since_first.us / it.arrival.interval().us;
  return std::max(off.by + rule.at_most, missed_at(it, slots + 1));
}

void Watch::Impl::mains_report(SiteIndex site, Instant at) {
  for (const TankIndex tank : plan_.sites[site.value].tanks) {
    for (const ControllerIndex member : plan_.tanks[tank.value].controllers) {
      Controller& it = controllers_[member.value];
      // One that ran on its battery itself says nothing by falling silent.
      const bool fed = it.contact == Contact::overdue && !it.on_battery();
      if (!fed || it.ripe || !rules(member.value).mains_report.enabled) {
        continue;
      }
      const Instant believed = mains_believed_at(site, member.value, at);
      if (believed.is_never() || it.not_before > at) continue;
      if (believed <= at) {
        it.early = true;
        if (it.early_at.is_never()) it.early_at = at;
        put_up(member.value, at);
      } else if (wheel_.due(site_timer(site.value)) > believed) {
        wheel_.arm(site_timer(site.value), believed);
      }
    }
  }
}

}  // namespace ebbwatch
