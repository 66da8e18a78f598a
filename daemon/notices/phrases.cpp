#include "notices/phrases.h"

#include <cmath>

namespace ebbwatch {
namespace {

bool is_group(Scope scope) {
  return scope == Scope::area || scope == Scope::provider;
}

// Never 0 or 100, because it is an estimate.
std::string out_of_hundred(double confidence) {
  const double rounded = std::round(confidence * 20) * 5;
  return std::to_string(static_cast<int>(std::fmin(std::fmax(rounded, 5), 95)));
}

struct CausePhrases {
  Phrase now, past, noun, words;
};

// @pre not undetermined
CausePhrases phrases_of(Cause cause) {
  switch (cause) {
    case Cause::mains_power:
      return {Phrase::mains_is_off, Phrase::mains_was_off, Phrase::mains_power,
              Phrase::mains_words};
    case Cause::internet:
      return {Phrase::internet_is_down, Phrase::internet_was_down, Phrase::internet_link,
              Phrase::internet_words};
    case Cause::controller:
      return {Phrase::controller_has_stopped, Phrase::controller_had_stopped,
              Phrase::controller_itself, Phrase::controller_words};
    case Cause::watcher_uplink:
    case Cause::undetermined:
      break;
  }
  return {Phrase::own_link_is_down, Phrase::own_link_was_down, Phrase::own_link,
          Phrase::own_link_words};
}

// The same in as little room as the language needs for it.
Phrase brief(Phrase sure) {
  switch (sure) {
    case Phrase::almost_certainly:
      return Phrase::almost_certainly_brief;
    case Phrase::very_probably:
      return Phrase::very_probably_brief;
    case Phrase::probably:
      return Phrase::probably_brief;
    default:
      return Phrase::possibly_brief;
  }
}

std::string heading_name(const Speech& say, const Story& story) {
  if (story.topic == Topic::notifier_failing || story.topic == Topic::notifier_working) {
    return say(Phrase::heading_notifier, {{"name", story.name}});
  }
  if (story.topic == Topic::unproven) {
    return say(Phrase::heading_way, {{"name", story.unreached}, {"way", story.unreached_by}});
  }
  switch (story.scope) {
    case Scope::site:
      return say(Phrase::heading_site, {{"name", story.name}});
    case Scope::watcher:
      return say(Phrase::heading_watcher, {{"name", story.watcher}});
    case Scope::area:
      return say(Phrase::heading_area, {{"name", story.subject_id}});
    case Scope::provider:
      return say(Phrase::heading_provider, {{"name", story.subject_id}});
    case Scope::controller:
    case Scope::tank:
      break;
  }
  return story.name;
}

}  // namespace

Phrase sureness(double confidence) {
  if (confidence >= 0.95) return Phrase::almost_certainly;
  if (confidence >= 0.8) return Phrase::very_probably;
  return confidence > 0.5 ? Phrase::probably : Phrase::possibly;
}

std::string cause_sentence(const Speech& say, const Story& story) {
  const bool past = story.kind == DecisionKind::recovery;
  if (story.cause == Cause::undetermined) {
    return say(past ? Phrase::cause_not_found : Phrase::cause_not_known_yet);
  }
  const CausePhrases cause = phrases_of(story.cause);
  const bool now_and_then = story.kind == DecisionKind::unsteady;
  return capital(say(Phrase::sure_sentence, {{"sure", say(sureness(story.confidence))},
                                             {"what", say(now_and_then ? cause.noun
                                                          : past       ? cause.past
                                                                       : cause.now)},
                                             {"number", out_of_hundred(story.confidence)}}));
}

std::string short_cause(const Speech& say, const Story& story) {
  if (story.cause == Cause::undetermined) return "";
  return say(Phrase::sure_words, {{"sure", say(brief(sureness(story.confidence)))},
                                  {"what", say(phrases_of(story.cause).words)}});
}

std::string who(const Speech& say, const Story& story) {
  switch (story.scope) {
    case Scope::site:
      return say(Phrase::who_site, {{"name", story.name}});
    case Scope::watcher:
      return say(Phrase::who_watcher, {{"name", story.watcher}});
    case Scope::area:
      return say(Phrase::who_area, {{"name", story.subject_id}});
    case Scope::provider:
      return say(Phrase::who_provider, {{"name", story.subject_id}});
    case Scope::controller:
    case Scope::tank:
      break;
  }
  if (story.place.empty()) return story.name;
  return say(story.scope == Scope::controller ? Phrase::who_controller : Phrase::who_tank,
             {{"name", story.name}, {"place", story.place}});
}

std::string heading(const Speech& say, const Story& story, std::size_t room, Measure measure) {
  const std::string name = heading_name(say, story);
  const std::string full = story.place.empty() ? name : name + ", " + story.place;
  return measure(full) <= room ? full : shorten(name, room, measure);
}

std::string not_known(const Speech& say, const Story& story) {
  if (story.scope == Scope::controller) return say(Phrase::not_known_part);
  if (story.cause == Cause::internet) return say(Phrase::not_known_link);
  const bool many = is_group(story.scope) || story.scope == Scope::site;
  return say(many ? Phrase::not_known_group : Phrase::not_known_tank);
}

std::string default_check(const Speech& say, const Story& story) {
  switch (story.cause) {
    case Cause::mains_power:
      return say(Phrase::check_mains);
    case Cause::internet:
      return say(Phrase::check_internet);
    case Cause::controller:
      return say(Phrase::check_controller);
    case Cause::watcher_uplink:
      return say(Phrase::check_own_link, {{"watcher", story.watcher}});
    case Cause::undetermined:
      break;
  }
  return say(Phrase::check_unknown);
}

}  // namespace ebbwatch
