#include "notices/story.h"

#include <algorithm>
#include <array>
#include <cstdio>

#include "notices/evidence_words.h"
#include "notices/lines.h"
#include "settings/plan.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

const SiteSettings* site_settings(const Settings& settings, const WatchPlan& plan,
                                  Subject subject) {
  const std::optional<SiteIndex> site = site_of(plan, subject);
  return site ? site_of(settings, plan.sites[site->value].id) : nullptr;
}

std::optional<TankIndex> tank_of(const WatchPlan& plan, Subject subject) {
  if (subject.scope == Scope::tank) return TankIndex{subject.index};
  if (subject.scope == Scope::controller) return plan.controllers[subject.index].tank;
  return std::nullopt;
}

const TankSettings* tank_settings(const SiteSettings* site, const WatchPlan& plan,
                                  Subject subject) {
  const std::optional<TankIndex> tank = tank_of(plan, subject);
  if (site == nullptr || !tank) return nullptr;
  for (const TankSettings& candidate : site->tanks) {
    if (candidate.id == plan.tanks[tank->value].id) return &candidate;
  }
  return nullptr;
}

const std::string& name_of(const std::string& name, const std::string& id) {
  return name.empty() ? id : name;
}

std::string place_of(const SiteSettings* site, const TankSettings* tank, Scope scope) {
  if (site == nullptr || scope == Scope::site) return "";
  const std::string& at_site = name_of(site->name, site->id);
  if (scope == Scope::tank || tank == nullptr) return one_line(at_site);
  return one_line(name_of(tank->name, tank->id) + ", " + at_site);
}

std::vector<std::string> covered_by(const Settings& settings, const WatchPlan& plan,
                                    Subject subject) {
  std::vector<std::string> names;
  if (subject.scope != Scope::area && subject.scope != Scope::provider) return names;
  const auto& groups = subject.scope == Scope::area ? plan.areas : plan.providers;
  for (SiteIndex site : groups[subject.index].sites) {
    names.push_back(one_line(subject_name(settings, plan, {Scope::site, site.value})));
  }
  return names;
}

// The tank's own instructions, then the site's: the nearer the trouble, the sooner they matter.
std::string instructions_of(const SiteSettings* site, const TankSettings* tank) {
  std::string text = tank != nullptr ? tank->instructions : "";
  if (site != nullptr && !site->instructions.empty()) {
    if (!text.empty() && !text.ends_with('\n')) text += '\n';
    text += site->instructions;
  }
  return text;
}

void add_last_reading(Story& story, const std::vector<LastHeard>& heard) {
  for (const LastHeard& one : heard) {
    if (story.last_reading_at && *story.last_reading_at >= one.at) continue;
    const std::string text = readings_text(one.readings_json);
    if (text.empty()) continue;
    story.last_reading = text;
    story.last_reading_from = one.controller;
    story.last_reading_at = one.at;
  }
}

// Without English, which every story tells anyway.
std::vector<Language> other_languages(const Settings& settings) {
  std::vector<Language> found;
  for (const KeyholderSettings& keyholder : settings.keyholders) {
    const Language language = first_known_language(keyholder.languages);
    if (language == Language::english) continue;
    if (std::find(found.begin(), found.end(), language) == found.end()) found.push_back(language);
  }
  return found;
}

Translation translation(Language language, const Story& story, const Decision& decision,
                        const WatchPlan& plan, const DecisionContext& context) {
  Translation made;
  made.language = language;
  made.evidence = sentences_in(Speech(language, context.at), decision, plan, context.to_wall);
  for (const LastHeard& one : context.last_heard) {
    if (one.controller == story.last_reading_from && one.at == story.last_reading_at) {
      made.last_reading = readings_text(one.readings_json, language);
    }
  }
  if (context.time_left) made.time_left = one_line(context.time_left(language));
  return made;
}

std::string unix_seconds(WallTime time) {
  std::array<char, 48> buffer{};
  std::snprintf(buffer.data(), buffer.size(), "%.3f", static_cast<double>(time.us) / 1e6);
  return buffer.data();
}

}  // namespace

const char* word(Topic topic) {
  switch (topic) {
    case Topic::decision:
      return "decision";
    case Topic::taken_on:
      return "acknowledged";
    case Topic::undelivered:
      return "undelivered";
    case Topic::store_failing:
      return "store_failing";
    case Topic::store_working:
      return "store_working";
    case Topic::notifier_failing:
      return "notifier_failing";
    case Topic::notifier_working:
      return "notifier_working";
    case Topic::unproven:
      return "unproven";
    case Topic::summary:
      return "summary";
    case Topic::digest:
      return "digest";
  }
  return "decision";
}

Translation told_in(const Story& story, Language language) {
  for (const Translation& one : story.translations) {
    if (one.language == language) return one;
  }
  return {language, story.evidence, story.last_reading, story.time_left};
}

const char* word(Priority priority) {
  switch (priority) {
    case Priority::high:
      return "high";
    case Priority::medium:
      return "medium";
    case Priority::low:
      return "low";
  }
  return "high";
}

const char* reading_word(DecisionKind kind) {
  return kind == DecisionKind::recovery ? "reading_normal" : "reading_alarm";
}

Priority priority_of(const Story& story) {
  switch (story.topic) {
    case Topic::notifier_failing:
    case Topic::notifier_working:
    case Topic::unproven:
    case Topic::digest:
      return Priority::low;
    case Topic::store_failing:
    case Topic::store_working:
    case Topic::summary:
      return Priority::high;
    case Topic::taken_on:
    case Topic::undelivered:
      break;
    case Topic::decision:
      if (story.reading) {
        const bool urgent =
            story.reading->state == ReadingState::low || story.reading->state == ReadingState::high;
        return urgent ? Priority::high : Priority::low;
      }
      if (story.kind == DecisionKind::watch_gap || story.kind == DecisionKind::unsteady ||
          story.kind == DecisionKind::steady) {
        return Priority::low;
      }
  }
  return story.scope == Scope::controller ? Priority::medium : Priority::high;
}

Story make_story(const Decision& decision, const Settings& settings, const WatchPlan& plan,
                 const DecisionContext& context) {
  const SiteSettings* site = site_settings(settings, plan, decision.subject);
  const TankSettings* tank = tank_settings(site, plan, decision.subject);
  Story story;
  story.kind = decision.kind;
  story.drill = context.drill;
  story.watcher = plan.watcher;
  if (decision.outage != 0) {
    story.outage = context.outage.empty() ? outage_text(plan, decision.outage) : context.outage;
  }
  story.scope = decision.subject.scope;
  story.subject_id = subject_id(plan, decision.subject);
  story.name = one_line(subject_name(settings, plan, decision.subject));
  story.place = place_of(site, tank, decision.subject.scope);
  story.covered = covered_by(settings, plan, decision.subject);
  story.at = context.at;
  story.since = context.since;
  story.gone_for = context.gone_for;
  story.cause = decision.cause;
  story.confidence = decision.confidence;
  const TimeText time_text = context.time_text ? context.time_text : TimeText([](Instant at) {
    return std::to_string(at.us / 1'000'000) + " s";
  });
  story.evidence = sentences(decision, plan, time_text);
  add_last_reading(story, context.last_heard);
  if (context.time_left) story.time_left = one_line(context.time_left(Language::english));
  for (const Language language : other_languages(settings)) {
    story.translations.push_back(translation(language, story, decision, plan, context));
  }
  story.instructions = instructions_of(site, tank);
  story.decision_json = decision_json(
      decision, plan, time_text,
      {"at", "\"" + to_rfc3339(context.at) + "\"", unix_seconds(context.since), context.outage});
  return story;
}

}  // namespace ebbwatch
