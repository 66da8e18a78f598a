#include "notices/phrases.h"

#include <cmath>

namespace ebbwatch {
namespace {

bool is_group(Scope scope) {
  return scope == Scope::area || scope == Scope::provider;
}

std::string capital(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') {
    text[0] = static_cast<char>(text[0] - 'a' + 'A');
  }
  return text;
}

// "about 85 in 100": never 0 or 100, because it is an estimate.
std::string out_of_hundred(double confidence) {
  const double rounded = std::round(confidence * 20) * 5;
  return "about " + std::to_string(static_cast<int>(std::fmin(std::fmax(rounded, 5), 95))) +
         " in 100";
}

std::string cause_noun(Cause cause) {
  switch (cause) {
    case Cause::mains_power:
      return "the mains power";
    case Cause::internet:
      return "the internet link";
    case Cause::controller:
      return "the controller itself";
    case Cause::watcher_uplink:
      return "the watcher's own link";
    case Cause::undetermined:
      break;
  }
  return "not known";
}

std::string heading_name(const Story& story) {
  switch (story.scope) {
    case Scope::site:
      return story.name + " (whole site)";
    case Scope::watcher:
      return "Watcher " + story.watcher;
    case Scope::area:
    case Scope::provider:
      return capital(story.name);
    case Scope::controller:
    case Scope::tank:
      break;
  }
  return story.name;
}

}  // namespace

std::string sureness(double confidence) {
  if (confidence >= 0.95) return "almost certainly";
  if (confidence >= 0.8) return "very probably";
  return confidence > 0.5 ? "probably" : "possibly";
}

std::string cause_clause(Cause cause, bool past) {
  switch (cause) {
    case Cause::mains_power:
      return past ? "the mains power was off" : "the mains power is off";
    case Cause::internet:
      return past ? "the internet link was down" : "the internet link is down";
    case Cause::controller:
      return past ? "the controller had stopped" : "the controller has stopped";
    case Cause::watcher_uplink:
      return past ? "the watcher's own link was down" : "the watcher's own link is down";
    case Cause::undetermined:
      break;
  }
  return past ? "the cause was not found" : "the cause is not known";
}

std::string cause_words(Cause cause) {
  switch (cause) {
    case Cause::mains_power:
      return "mains power off";
    case Cause::internet:
      return "internet down";
    case Cause::controller:
      return "controller stopped";
    case Cause::watcher_uplink:
      return "watcher's own link";
    case Cause::undetermined:
      break;
  }
  return "cause not known";
}

std::string cause_sentence(const Story& story) {
  const bool past = story.kind == DecisionKind::recovery;
  if (story.cause == Cause::undetermined) {
    return past ? "The cause was not found."
                : "Not known yet. It may be the mains power, the internet link or the controller "
                  "itself.";
  }
  const bool now_and_then = story.kind == DecisionKind::unsteady;
  return capital(sureness(story.confidence)) + " " +
         (now_and_then ? cause_noun(story.cause) : cause_clause(story.cause, past)) + " (" +
         out_of_hundred(story.confidence) + ").";
}

std::string short_cause(const Story& story) {
  if (story.cause == Cause::undetermined) return "";
  return sureness(story.confidence) + " " + cause_words(story.cause);
}

std::string who(const Story& story) {
  switch (story.scope) {
    case Scope::site:
      return "the whole site " + story.name;
    case Scope::watcher:
      return "the watcher " + story.watcher;
    case Scope::area:
      return "the whole " + story.name;
    case Scope::provider:
      return "all sites of " + story.name;
    case Scope::controller:
      return story.name + (story.place.empty() ? "" : " of " + story.place);
    case Scope::tank:
      break;
  }
  return story.name + (story.place.empty() ? "" : " at " + story.place);
}

std::string heading(const Story& story, std::size_t room, Measure measure) {
  const std::string name = heading_name(story);
  const std::string full = story.place.empty() ? name : name + ", " + story.place;
  return measure(full) <= room ? full : shorten(name, room, measure);
}

std::string not_known(const Story& story) {
  if (story.scope == Scope::controller) {
    return "Other controllers of the same tank are still heard. Whether this one's own probes and "
           "sockets still work is not known.";
  }
  if (story.cause == Cause::internet) {
    return "How the animals are. If only the link is down, the equipment may well be running.";
  }
  if (is_group(story.scope) || story.scope == Scope::site) {
    return "How the animals are, and whether pumps and heaters still run. Silence means that no "
           "message comes; nobody has seen a fault.";
  }
  return "How the tank is, and whether pumps and heater still run. Silence means that no message "
         "comes; nobody has seen a fault.";
}

std::string default_check(const Story& story) {
  switch (story.cause) {
    case Cause::mains_power:
      return "Is there light in the house or street? Ring somebody there. If only this circuit is "
             "off, look at the breakers; if the pumps stand still, get air into the water first.";
    case Cause::internet:
      return "Ring somebody there and ask whether the pumps run. Then restart the router.";
    case Cause::controller:
      return "Do pumps and heater run? Then look at the controller: plug, power supply, network "
             "lamp.";
    case Cause::watcher_uplink:
      return "The internet link where the watcher " + story.watcher + " stands.";
    case Cause::undetermined:
      break;
  }
  return "Ring somebody there: is the power on, do the pumps run? If nobody can look, go. Movement "
         "and air in the water come first, then temperature.";
}

std::string caution() {
  return "Dry hands, mind the drip loops, and switch off at the breaker before you reach into "
         "water near damaged equipment.";
}

}  // namespace ebbwatch
