// Cause and evidence: what was observed about an outage, for the cause model and for people.
#include <algorithm>

#include "core/watch_impl.h"

namespace ebbwatch {
namespace {

/// Mains comes back to all of a site at once; controllers and routers differ in how long they
/// start.
constexpr Span started_together = Span::of_min(4);
constexpr std::size_t named_silent_max = 2;

Evidence fact_of(Evidence::Code code, Subject subject, Instant at) {
  Evidence fact;
  fact.code = code;
  fact.subject = subject;
  fact.at = at;
  return fact;
}

}  // namespace

bool Watch::Impl::believe_anew(OutageRecord& record, const CauseFacts& facts) const {
  const CauseBelief belief = believe(facts);
  const bool changed = belief.cause != record.cause;
  record.cause = belief.cause;
  record.confidence = belief.confidence;
  return changed;
}

CauseFacts Watch::Impl::facts_of(const Verdict& verdict, std::uint32_t index, Instant at) const {
  CauseFacts facts;
  const SiteIndex site = site_of(index);
  const TankIndex tank = plan_.controllers[index].tank;
  const Tally of_tank = view_.tank(tank, verdict.onset, at);
  const SiteTally of_site = view_.site(site, verdict.onset, at);
  const Scope scope = verdict.subject.scope;
  switch (scope) {
    case Scope::controller:
      facts.add(Observation::one_of_tank);
      break;
    case Scope::tank:
      facts.add(of_tank.live <= 1 ? Observation::lone_of_tank : Observation::whole_tank);
      break;
    case Scope::site:
      if (verdict.part < verdict.whole) {
        facts.add(Observation::whole_tank);
      } else {
        facts.add(of_site.all.live <= 1 ? Observation::lone_site : Observation::whole_site);
      }
      break;
    case Scope::area:
      facts.add(Observation::whole_area);
      break;
    case Scope::provider:
      facts.add(Observation::whole_provider);
      break;
    case Scope::watcher:
      break;
  }
  if (scope <= Scope::site && of_site.all.alive + of_site.all.on_battery > 0) {
    facts.add(Observation::site_alive);
  }
  for (std::uint32_t i = 0; i < count_; ++i) {
    if (!is_member_of(
            i, scope == Scope::controller ? Subject{Scope::tank, tank.value} : verdict.subject)) {
      continue;
    }
    const Controller& it = controllers_[i];
    const bool heard_since =
        it.live() && it.contact != Contact::overdue && it.last_heard > verdict.onset.to;
    if (on_battery_since(i, verdict.onset)) {
      facts.add(Observation::battery_reported);
    } else if (heard_since && plan_.controllers[i].supply == Supply::battery_backed) {
      if (it.last_power == Power::mains) facts.add(Observation::battery_says_mains);
    } else if (heard_since) {
      facts.add(Observation::mains_fed_alive);
    }
  }
  return facts;
}

CauseFacts Watch::Impl::facts_of_return(const Outage& outage) const {
  CauseFacts facts = outage.facts;
  std::uint32_t restarted = 0;
  Instant first = Instant::never();
  Instant last{};
  for (const ControllerIndex member : outage.members) {
    const Controller& it = controllers_[member.value];
    if (it.unheard()) continue;
    const bool mains_fed = plan_.controllers[member.value].supply == Supply::mains;
    if (it.back.restarted) {
      facts.add(mains_fed ? Observation::mains_fed_restarted : Observation::battery_restarted);
      if (!it.back.uptime_known) continue;
      ++restarted;
      first = std::min(first, it.back.started_at);
      last = std::max(last, it.back.started_at);
    } else if (it.back.kept_running) {
      facts.add(mains_fed ? Observation::mains_fed_kept_running
                          : Observation::battery_kept_running);
    }
    if (it.buffered > 0 && it.buffered_power != Power::unknown) {
      facts.add(it.buffered_power == Power::battery ? Observation::buffered_on_battery
                                                    : Observation::buffered_on_mains);
    }
  }
  if (restarted >= 2 && last - first <= started_together) {
    facts.add(Observation::several_restarted);
  }
  return facts;
}

void Watch::Impl::tell_scope(const Verdict& verdict, OutageRecord& record) const {
  Evidence fact = fact_of(Evidence::Code::silent_since, verdict.subject, verdict.onset.from);
  fact.count = verdict.part;
  fact.total = verdict.whole;
  fact.span = verdict.onset.to - verdict.onset.from;
  switch (verdict.subject.scope) {
    case Scope::tank:
      fact.code = verdict.by_battery ? Evidence::Code::mains_fed_silent
                                     : Evidence::Code::all_of_tank_silent;
      fact.count = static_cast<std::uint32_t>(verdict.lost.size());
      break;
    case Scope::site:
      fact.code = verdict.by_battery ? Evidence::Code::mains_fed_silent
                                     : Evidence::Code::all_of_site_silent;
      break;
    case Scope::area:
    case Scope::provider:
      fact.code = Evidence::Code::sites_silent_together;
      break;
    case Scope::controller:
    case Scope::watcher:
      return;
  }
  record.evidence.push(fact);
}

/// What a controller around `subject` says of the mains. @return it; no_outage when none does.
std::uint32_t Watch::Impl::tell_power(Subject subject, Onset onset, OutageRecord& record) const {
  std::uint32_t with_mains = Controller::no_outage;
  for (std::uint32_t i = 0; i < count_; ++i) {
    const Controller& it = controllers_[i];
    if (!is_member_of(i, subject)) continue;
    if (on_battery_since(i, onset)) {
      Evidence fact = fact_of(Evidence::Code::power_was_battery, Subject{Scope::controller, i},
                              it.battery_since);
      if (it.contact == Contact::present) fact.count = 1;
      record.evidence.push(fact);
      return i;
    }
    const bool backed = plan_.controllers[i].supply == Supply::battery_backed;
    if (backed && it.contact == Contact::present && it.last_power == Power::mains &&
        it.last_power_at > onset.to) {
      with_mains = i;
    }
  }
  if (with_mains != Controller::no_outage) {
    record.evidence.push(fact_of(Evidence::Code::power_was_mains,
                                 Subject{Scope::controller, with_mains},
                                 controllers_[with_mains].last_power_at));
  }
  return with_mains;
}

void Watch::Impl::tell_silence(const Verdict& verdict, std::uint32_t index, Instant at,
                               OutageRecord& record) const {
  tell_scope(verdict, record);
  const Subject site{Scope::site, site_of(index).value};
  const bool inside = verdict.subject.scope < Scope::site;
  const std::uint32_t spoke = tell_power(inside ? site : verdict.subject, verdict.onset, record);
  std::size_t named = 0;
  for (const std::uint32_t member : verdict.lost) {
    if (named++ == named_silent_max) break;
    record.evidence.push(fact_of(Evidence::Code::silent_since, Subject{Scope::controller, member},
                                 controllers_[member].last_heard));
  }
  std::uint32_t elsewhere = 0;
  std::uint32_t heard = Controller::no_outage;
  for (std::uint32_t i = 0; i < count_; ++i) {
    const Controller& it = controllers_[i];
    if (it.contact == Contact::present || it.contact == Contact::returning) {
      ++elsewhere;
      if (heard == Controller::no_outage && site_of(i) == site_of(index)) heard = i;
    }
  }
  if (heard != Controller::no_outage && heard != spoke) {
    record.evidence.push(fact_of(Evidence::Code::never_in_doubt, Subject{Scope::controller, heard},
                                 controllers_[heard].last_heard));
  }
  if (elsewhere > 0) {
    Evidence fact = fact_of(Evidence::Code::others_still_heard, verdict.subject, at);
    fact.count = elsewhere;
    record.evidence.push(fact);
  }
  if (witnesses_.any()) {
    const ControllerIndex seed{index};
    const auto answer = plan_.asks_witnesses ? witnesses_.answers(seed, verdict.onset.to,
                                                                  controllers_[index].asking.first)
                                             : witnesses_.ask(seed, verdict.onset.to, at);
    if (answer.asked == 0) return;
    Evidence fact = fact_of(Evidence::Code::witness_silent_too, verdict.subject, at);
    fact.count = answer.asked - answer.hear;
    fact.total = answer.asked;
    record.evidence.push(fact);
  }
}

void Watch::Impl::tell_return(const Outage& outage, OutageRecord& record) const {
  std::size_t named = 0;
  for (const ControllerIndex member : outage.members) {
    const Controller& it = controllers_[member.value];
    const Subject subject{Scope::controller, member.value};
    if (it.unheard()) {
      record.evidence.push(fact_of(Evidence::Code::silent_since, subject, it.last_heard));
      continue;
    }
    if (named == named_silent_max) continue;
    if (it.back.restarted || it.back.kept_running) {
      ++named;
      Evidence fact =
          fact_of(it.back.restarted ? Evidence::Code::restarted : Evidence::Code::kept_running,
                  subject, it.back.at);
      if (it.back.uptime_known) fact.span = it.back.at - it.back.started_at;
      record.evidence.push(fact);
    }
    if (it.back.seq_known) {
      Evidence fact = fact_of(it.back.sent_unheard > 0 ? Evidence::Code::sent_while_unheard
                                                       : Evidence::Code::nothing_sent,
                              subject, it.back.at);
      fact.count = it.back.sent_unheard;
      record.evidence.push(fact);
    }
    if (it.buffered > 0) {
      Evidence fact = fact_of(Evidence::Code::buffered_received, subject, it.back.at);
      fact.count = it.buffered;
      record.evidence.push(fact);
    }
  }
}

}  // namespace ebbwatch
