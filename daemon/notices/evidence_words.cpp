#include "notices/evidence_words.h"

#include <algorithm>

#include "core/wording.h"

namespace ebbwatch {
namespace {

using Code = Evidence::Code;

struct Fact {
  const Evidence& it;
  std::string name;
  WallTime at;
  std::string count;
};

std::string about_power(const Speech& say, const Fact& fact, const WatchPlan& plan) {
  const Subject subject = fact.it.subject;
  const bool battery = subject.scope == Scope::controller &&
                       plan.controllers[subject.index].supply == Supply::battery_backed;
  const std::string controller = say(
      battery ? Phrase::battery_controller_named : Phrase::controller_named, {{"name", fact.name}});
  const Phrase which = fact.it.code == Code::power_was_mains ? Phrase::reported_mains_on
                       : fact.it.count > 0 ? Phrase::reported_mains_off_still_heard
                                           : Phrase::reported_mains_off;
  return say(which, {{"controller", controller}, {"at", say.at(fact.at)}});
}

std::string about_scope(const Speech& say, const Fact& fact) {
  const std::string total = std::to_string(fact.it.total);
  const std::string span = span_text(fact.it.span);
  const auto tell = [&](Phrase which) {
    return say(which,
               {{"name", fact.name}, {"count", fact.count}, {"total", total}, {"span", span}});
  };
  switch (fact.it.code) {
    case Code::all_of_tank_silent:
      return tell(fact.it.count == 1 ? Phrase::only_controller_silent
                                     : Phrase::all_controllers_silent);
    case Code::mains_fed_silent:
      return tell(Phrase::nothing_on_mains_heard);
    case Code::all_of_site_silent:
      return tell(fact.it.total == 1 ? Phrase::only_tank_silent : Phrase::tanks_silent);
    default:
      return tell(Phrase::sites_silent);
  }
}

std::string about_return(const Speech& say, const Fact& fact) {
  const bool one = fact.it.count == 1;
  const std::string span = span_text(fact.it.span);
  const auto tell = [&](Phrase which) {
    return say(which, {{"name", fact.name}, {"count", fact.count}, {"span", span}});
  };
  switch (fact.it.code) {
    case Code::restarted:
      return tell(fact.it.span.us <= 0 ? Phrase::started_anew : Phrase::started_anew_before);
    case Code::kept_running:
      return tell(Phrase::kept_running);
    case Code::sent_while_unheard:
      return tell(one ? Phrase::sent_one_unheard : Phrase::sent_many_unheard);
    case Code::nothing_sent:
      return tell(Phrase::sent_nothing);
    default:
      return tell(one ? Phrase::one_stored_arrived : Phrase::many_stored_arrived);
  }
}

std::string about_watchers(const Speech& say, const Fact& fact) {
  const bool one = fact.it.total == 1;
  const std::string total = std::to_string(fact.it.total);
  const auto tell = [&](Phrase which) {
    return say(which, {{"count", fact.count}, {"total", total}});
  };
  const std::string span = span_text(fact.it.span);
  switch (fact.it.code) {
    case Code::uplink_failed:
      return say(Phrase::own_link_failed, {{"span", span}});
    case Code::watcher_stopped:
      return say(Phrase::watcher_stopped, {{"from", say.from(fact.at)}, {"span", span}});
    case Code::broker_silent:
      return say(one ? Phrase::broker_does_not_answer : Phrase::broker_did_not_answer,
                 {{"span", span}, {"count", fact.count}});
    case Code::witness_silent_too:
      return tell(one ? Phrase::witness_silent_too : Phrase::witnesses_silent_too);
    default:
      return tell(one ? Phrase::witness_hears : Phrase::witnesses_hear);
  }
}

std::string about_habits(const Speech& say, const Fact& fact) {
  const std::string span = span_text(fact.it.span);
  switch (fact.it.code) {
    case Code::often_unsteady:
      return say(fact.it.count == 1 ? Phrase::lost_contact_once : Phrase::lost_contact_often,
                 {{"name", fact.name}, {"count", fact.count}});
    case Code::was_put_away:
      return say(fact.it.count == 0 ? Phrase::was_shelved : Phrase::was_out_of_service,
                 {{"name", fact.name},
                  {"until", say.until(fact.at)},
                  {"since", say.since(fact.at - fact.it.span)}});
    case Code::often_lost:
      return say(Phrase::often_lost, {{"name", fact.name},
                                      {"span", span},
                                      {"count", std::to_string(std::max(fact.it.count, 1U))}});
    default:
      return say(Phrase::announced_stop,
                 {{"name", fact.name}, {"span", span}, {"since", say.since(fact.at)}});
  }
}

std::string sentence_in(const Speech& say, const Fact& fact, const WatchPlan& plan) {
  switch (fact.it.code) {
    case Code::silent_since:
      return say(Phrase::last_heard, {{"name", fact.name}, {"at", say.at(fact.at)}});
    case Code::never_in_doubt:
      return say(Phrase::still_heard, {{"name", fact.name}, {"at", say.at(fact.at)}});
    case Code::power_was_battery:
    case Code::power_was_mains:
      return about_power(say, fact, plan);
    case Code::all_of_tank_silent:
    case Code::all_of_site_silent:
    case Code::mains_fed_silent:
    case Code::sites_silent_together:
      return about_scope(say, fact);
    case Code::others_still_heard:
      return say(fact.it.count == 1 ? Phrase::other_heard : Phrase::others_heard,
                 {{"count", fact.count}});
    case Code::restarted:
    case Code::kept_running:
    case Code::sent_while_unheard:
    case Code::nothing_sent:
    case Code::buffered_received:
      return about_return(say, fact);
    case Code::uplink_failed:
    case Code::watcher_stopped:
    case Code::broker_silent:
    case Code::witness_silent_too:
    case Code::witness_hears:
      return about_watchers(say, fact);
    case Code::often_unsteady:
    case Code::often_lost:
    case Code::planned_stop:
    case Code::was_put_away:
      return about_habits(say, fact);
  }
  return "";
}

}  // namespace

std::vector<std::string> sentences_in(const Speech& say, const Decision& decision,
                                      const WatchPlan& plan,
                                      const std::function<WallTime(Instant)>& to_wall) {
  std::vector<std::string> all;
  for (const Evidence& it : decision.evidence) {
    const WallTime at = to_wall ? to_wall(it.at) : WallTime{it.at.us};
    const Fact fact{it, subject_name(plan, it.subject), at, std::to_string(it.count)};
    all.push_back(sentence_in(say, fact, plan));
  }
  return all;
}

}  // namespace ebbwatch
