// Every message that a person can get, made by the code from the sample club.
#pragma once

#include <string>
#include <vector>

#include "notices/compose.h"
#include "notices/sample.h"

namespace ebbwatch::sample {

struct Example {
  std::string title;
  Story story;
  Telling telling;
};

inline Evidence evidence(Evidence::Code code, Subject subject, WallTime at) {
  Evidence made;
  made.code = code;
  made.subject = subject;
  made.at = Instant{at.us};
  return made;
}

inline const Settings& shared_settings() {
  // Somebody reads each language, so that stories are told in all of them.
  static const Settings all = [] {
    Settings made = settings();
    made.keyholders[1].languages = {"de"};
    made.keyholders[2].languages = {"es"};
    return made;
  }();
  return all;
}
inline const WatchPlan& shared_plan() {
  static const WatchPlan plan = make_plan(shared_settings());
  return plan;
}

inline Story story_of(const Decision& made, const DecisionContext& context) {
  return make_story(made, shared_settings(), shared_plan(), context);
}

inline DecisionContext context_with_reading(WallTime at, WallTime since) {
  DecisionContext made = context(at);
  made.since = since;
  made.last_heard = {
      {"lagoon-main", since, R"({"temperature_c":25.4,"ph":8.1,"watts":{"heater":150}})"}};
  return made;
}

inline Decision power_cut(DecisionKind kind, Subject subject) {
  Decision made = decision(kind, subject, 17);
  made.cause = Cause::mains_power;
  made.confidence = 0.85;
  made.evidence.push(evidence(Evidence::Code::power_was_battery, {Scope::controller, 1},
                              two_o_clock + Span::of_min(3)));
  made.evidence.push(evidence(Evidence::Code::silent_since, {Scope::controller, 0}, two_o_clock));
  return made;
}

inline std::vector<Example> loss_examples() {
  const WallTime at = two_o_clock + Span::of_min(12);
  const auto reading = context_with_reading(at, two_o_clock);
  const Story cut = story_of(power_cut(DecisionKind::loss, tank(0)), reading);
  Decision unclear = decision(DecisionKind::loss, tank(2), 18);
  unclear.evidence.push(
      evidence(Evidence::Code::silent_since, {Scope::controller, 3}, two_o_clock));
  DecisionContext plain = context(at);
  plain.since = two_o_clock;
  Decision part = decision(DecisionKind::loss, {Scope::controller, 1}, 19);
  part.cause = Cause::controller;
  part.confidence = 0.6;
  Decision site = power_cut(DecisionKind::loss, {Scope::site, 0});
  site.cause = Cause::internet;
  site.confidence = 0.55;
  site.evidence.clear();
  Evidence together = evidence(Evidence::Code::all_of_site_silent, {Scope::site, 0}, two_o_clock);
  together.count = together.total = 2;
  site.evidence.push(together);
  DecisionContext exercise = plain;
  exercise.drill = true;
  return {{"A tank is lost", cut, {Occasion::first, at}},
          {"The same, to the next person of the call list",
           cut,
           {Occasion::later_step, at + Span::of_min(15)}},
          {"The same, told again", cut, {Occasion::reminder, at + Span::of_min(75)}},
          {"The same, sent only hours later", cut, {Occasion::first, at + Span::of_min(155)}},
          {"A tank is lost; cause, reading and instructions are missing",
           story_of(unclear, plain),
           {Occasion::first, at}},
          {"A part of a tank's controllers is lost", story_of(part, plain), {Occasion::first, at}},
          {"A whole site is lost", story_of(site, plain), {Occasion::first, at}},
          {"A drill", story_of(unclear, exercise), {Occasion::first, at}}};
}

inline std::vector<Example> later_examples() {
  const WallTime at = two_o_clock + Span::of_min(34);
  DecisionContext back = context_with_reading(at, two_o_clock + Span::of_min(31));
  back.gone_for = Span::of_min(31);
  Story recovery = story_of(power_cut(DecisionKind::recovery, tank(0)), back);
  recovery.lost_at = two_o_clock;
  Decision wide = power_cut(DecisionKind::cause_revised, {Scope::area, 0});
  wide.confidence = 0.96;
  DecisionContext since = context(at);
  since.since = two_o_clock;
  Decision gap = decision(DecisionKind::watch_gap, {Scope::watcher, 0}, 0);
  gap.cause = Cause::watcher_uplink;
  gap.confidence = 0.9;
  DecisionContext away = since;
  away.gone_for = Span::of_min(34);
  Decision shaky = decision(DecisionKind::unsteady, tank(0), 20);
  shaky.cause = Cause::internet;
  shaky.confidence = 0.7;
  return {{"Contact is back", recovery, {Occasion::first, at}},
          {"Contact is back, to a person whom the loss had not reached",
           recovery,
           {Occasion::combined, at}},
          {"A running outage turns out to be wider", story_of(wide, since), {Occasion::first, at}},
          {"The watcher itself was away", story_of(gap, away), {Occasion::first, at}},
          {"Contact comes and goes", story_of(shaky, since), {Occasion::first, at}},
          {"Contact is steady again",
           story_of(decision(DecisionKind::steady, tank(0), 20), since),
           {Occasion::first, at}}};
}

inline std::vector<Example> answer_examples() {
  const WallTime at = two_o_clock + Span::of_min(12);
  const Story cut =
      story_of(power_cut(DecisionKind::loss, tank(0)), context_with_reading(at, two_o_clock));
  Story taken = cut;
  taken.topic = Topic::taken_on;
  taken.taken_by = "Robin";
  taken.taken_at = at + Span::of_min(20);
  taken.taken_until = at + Span::of_min(140);
  Story resumed = cut;
  resumed.taken_by = "Robin";
  resumed.taken_at = taken.taken_at;
  Story unreached = cut;
  unreached.topic = Topic::undelivered;
  unreached.unreached = "Sam";
  unreached.unreached_by = "text";
  unreached.remark = "400 number not in service";
  Story store;
  store.topic = Topic::store_failing;
  store.scope = Scope::watcher;
  store.watcher = "harbour";
  store.at = at;
  store.since = two_o_clock;
  store.remark = "The disk is full.";
  store.decision_json = "{}";
  Story stored = store;
  stored.topic = Topic::store_working;
  return {
      {"A tank is lost, and the notice can be answered",
       cut,
       {Occasion::first, at, "4271", "https://tanks.example.net/a/3kR9w2"}},
      {"Somebody has taken it on, to the others who were told",
       taken,
       {Occasion::first, at + Span::of_min(20)}},
      {"That has run out",
       resumed,
       {Occasion::resumed, at + Span::of_min(140), "4271", "https://tanks.example.net/a/3kR9w2"}},
      {"Somebody else could not be reached", unreached, {Occasion::first, at}},
      {"The watcher cannot store what it decides", store, {Occasion::first, at}},
      {"It can again", stored, {Occasion::first, at}}};
}

inline std::vector<Example> reading_examples() {
  const WallTime at = two_o_clock + Span::of_min(12);
  DecisionContext when = context(at);
  when.since = two_o_clock;
  Story warm = story_of(decision(DecisionKind::loss, tank(0), 21), when);
  warm.reading = {"temperature_c", "lagoon-main", ReadingState::high, 28.6, 27.5};
  Story taken = warm;
  taken.topic = Topic::taken_on;
  taken.taken_by = "Robin";
  taken.taken_at = at;
  Story unreached = warm;
  unreached.topic = Topic::undelivered;
  unreached.unreached = "Sam";
  unreached.unreached_by = "text";
  unreached.remark = "400 number not in service";
  when.gone_for = Span::of_min(90);
  Story normal = story_of(decision(DecisionKind::recovery, tank(0), 21), when);
  normal.reading = {"temperature_c", "lagoon-main", ReadingState::high, 27.1, 27.5};
  Story weak = story_of(decision(DecisionKind::loss, tank(2), 22), when);
  weak.reading = {"watts.return-pump", "lagoon-main", ReadingState::below_usual, 41.2, 50};
  Story stuck = weak;
  stuck.reading = {"ph", "lagoon-main", ReadingState::unchanged, 8.1, 0};
  Story missing = weak;
  missing.reading = {"oxygen_mg_l", "lagoon-main", ReadingState::missing, {}, 0};
  const Telling now{Occasion::first, at};
  return {{"A reading is above its limit",
           warm,
           {Occasion::first, at, "4271", "https://tanks.example.net/a/3kR9w2"}},
          {"Somebody has taken it on", taken, now},
          {"Somebody could not be told of it", unreached, now},
          {"It is normal again", normal, now},
          {"A device draws less than usual", weak, now},
          {"A reading does not change", stuck, now},
          {"A reading is missing", missing, now}};
}

inline std::vector<Example> examples() {
  std::vector<Example> all = loss_examples();
  for (Example& example : reading_examples()) all.push_back(std::move(example));
  for (Example& example : answer_examples()) all.push_back(std::move(example));
  for (Example& example : later_examples()) all.push_back(std::move(example));
  return all;
}

}  // namespace ebbwatch::sample
