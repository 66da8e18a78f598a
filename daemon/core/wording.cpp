#include "core/wording.h"

#include <algorithm>
#include <array>
#include <cstdio>

namespace ebbwatch {
namespace {

/// "1 check-in", "4 check-ins".
std::string counted(std::uint32_t count, const char* one, const char* many) {
  return std::to_string(count) + " " + (count == 1 ? one : many);
}

std::string quoted(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (static_cast<unsigned char>(c) < 0x20) {
      std::array<char, 8> escape{};
      std::snprintf(escape.data(), escape.size(), "\\u%04x", static_cast<unsigned>(c));
      out += escape.data();
    } else {
      out += c;
    }
  }
  return out + "\"";
}

std::string kind_of(const WatchPlan& plan, Subject subject) {
  if (subject.scope != Scope::controller) return "";
  const bool battery = plan.controllers[subject.index].supply == Supply::battery_backed;
  return battery ? "battery-backed " : "";
}

std::string about_scope(const Evidence& it, const std::string& name) {
  using Code = Evidence::Code;
  if (it.code == Code::all_of_tank_silent) {
    return it.count == 1 ? "The controller of " + name + " is silent."
                         : "All " + std::to_string(it.count) + " controllers of " + name +
                               " fell silent together.";
  }
  if (it.code == Code::mains_fed_silent) {
    return "Nothing that runs on mains at " + name + " is heard any more.";
  }
  if (it.code == Code::all_of_site_silent) {
    if (it.total == 1) return "Everything at " + name + " is out of contact.";
    return std::to_string(it.count) + " of " + std::to_string(it.total) + " tanks at " + name +
           " are out of contact since the same moment.";
  }
  return std::to_string(it.count) + " of " + std::to_string(it.total) + " sites of " + name +
         " fell silent within " + span_text(it.span) + ".";
}

std::string about_return(const Evidence& it, const std::string& name) {
  switch (it.code) {
    case Evidence::Code::restarted:
      if (it.span.us <= 0) return name + " had started anew.";
      return name + " had started anew " + span_text(it.span) + " before its first word.";
    case Evidence::Code::kept_running:
      return name + " kept running through the whole silence.";
    case Evidence::Code::sent_while_unheard:
      return name + " sent " + counted(it.count, "check-in", "check-ins") +
             " meanwhile that did not arrive.";
    case Evidence::Code::nothing_sent:
      return name + " sent nothing meanwhile.";
    default:
      return counted(it.count, "stored check-in", "stored check-ins") + " of " + name +
             " from the silence arrived.";
  }
}

std::string about_watchers(const Evidence& it, const std::string& name, const TimeText& time) {
  switch (it.code) {
    case Evidence::Code::uplink_failed:
      return "This watcher's own link did not work for " + span_text(it.span) + ".";
    case Evidence::Code::watcher_stopped:
      return "This watcher was not running from " + time(it.at) + " for " + span_text(it.span) +
             ".";
    case Evidence::Code::broker_silent:
      return "The MQTT broker " +
             std::string(it.total == 1 ? "has not answered" : "did not answer") +
             " this watcher for " + span_text(it.span) +
             ". Not to be heard: " + std::to_string(it.count) + ".";
    case Evidence::Code::witness_silent_too:
      return std::to_string(it.count) + " of " + counted(it.total, "witness", "witnesses") +
             " do not hear it either.";
    case Evidence::Code::witness_hears:
      return std::to_string(it.count) + " of " + counted(it.total, "witness", "witnesses") +
             " still hear it.";
    case Evidence::Code::often_unsteady:
      return name + " lost contact about " + counted(it.count, "time", "times") +
             " lately; short losses are held back.";
    case Evidence::Code::was_put_away:
      return name + (it.count == 0 ? " was shelved until " : " was out of service until ") +
             time(it.at) + "; it is still silent since " + time(it.at - it.span) + ".";
    case Evidence::Code::often_lost:
      return "More check-ins of " + name + " were waited for, " + span_text(it.span) +
             " past the on-delay: about " + std::to_string(std::max(it.count, 1U)) +
             " in 100 of them are lost on the way.";
    default:
      return name + " announced a stop of " + span_text(it.span) + " and should be back since " +
             time(it.at) + ".";
  }
}

}  // namespace

std::string span_text(Span span) {
  const std::int64_t s = span.us < 0 ? 0 : span.us / 1'000'000;
  const auto two = [](std::int64_t a, const char* unit_a, std::int64_t b, const char* unit_b) {
    std::string text = std::to_string(a) + " " + unit_a;
    if (b > 0) text += " " + std::to_string(b) + " " + unit_b;
    return text;
  };
  if (s < 60) return std::to_string(s) + " s";
  if (s < 600) return two(s / 60, "min", s % 60, "s");
  if (s < 3600) return std::to_string(s / 60) + " min";
  if (s < 86400) return two(s / 3600, "h", s % 3600 / 60, "min");
  return two(s / 86400, "d", s % 86400 / 3600, "h");
}

std::string sentence(const Evidence& it, const WatchPlan& plan, const TimeText& time_text) {
  using Code = Evidence::Code;
  const std::string& name = subject_name(plan, it.subject);
  switch (it.code) {
    case Code::silent_since:
      return name + " was last heard at " + time_text(it.at) + ".";
    case Code::never_in_doubt:
      return name + " is still heard, last at " + time_text(it.at) + ".";
    case Code::power_was_battery:
      return "The " + kind_of(plan, it.subject) + "controller " + name + " reported mains off at " +
             time_text(it.at) + (it.count > 0 ? " and is still checking in." : ".");
    case Code::power_was_mains:
      return "The " + kind_of(plan, it.subject) + "controller " + name + " reported mains on at " +
             time_text(it.at) + ".";
    case Code::all_of_tank_silent:
    case Code::all_of_site_silent:
    case Code::mains_fed_silent:
    case Code::sites_silent_together:
      return about_scope(it, name);
    case Code::others_still_heard:
      return counted(it.count, "other controller is", "other controllers are") + " still heard.";
    case Code::restarted:
    case Code::kept_running:
    case Code::sent_while_unheard:
    case Code::nothing_sent:
    case Code::buffered_received:
      return about_return(it, name);
    case Code::uplink_failed:
    case Code::watcher_stopped:
    case Code::broker_silent:
    case Code::witness_silent_too:
    case Code::witness_hears:
    case Code::often_unsteady:
    case Code::often_lost:
    case Code::planned_stop:
    case Code::was_put_away:
      return about_watchers(it, name, time_text);
  }
  return "";
}

std::vector<std::string> sentences(const Decision& decision, const WatchPlan& plan,
                                   const TimeText& time_text) {
  std::vector<std::string> out;
  for (const Evidence& it : decision.evidence) out.push_back(sentence(it, plan, time_text));
  return out;
}

std::string outage_text(const WatchPlan& plan, OutageId outage) {
  return plan.watcher + "-" + std::to_string(outage);
}

std::string decision_json(const Decision& decision, const WatchPlan& plan,
                          const TimeText& time_text, const DecisionTimes& times) {
  std::array<char, 16> confidence{};
  std::snprintf(confidence.data(), confidence.size(), "%.2f", decision.confidence);
  std::string line = "{" + quoted(times.time_key) + ": " + times.time_value;
  line += ", \"decision\": " + quoted(word(decision.kind));
  line += ", \"scope\": " + quoted(word(decision.subject.scope));
  line += ", \"subject\": " + quoted(subject_id(plan, decision.subject));
  line += ", \"outage\": " +
          quoted(times.outage.empty() ? outage_text(plan, decision.outage) : times.outage);
  line += ", \"since_s\": " + times.since_s;
  line += ", \"cause\": " + quoted(word(decision.cause));
  line += ", \"confidence\": " + std::string(confidence.data());
  line += ", \"evidence\": [";
  bool first = true;
  for (const std::string& text : sentences(decision, plan, time_text)) {
    if (!first) line += ", ";
    first = false;
    line += quoted(text);
  }
  return line + "]}";
}

}  // namespace ebbwatch
