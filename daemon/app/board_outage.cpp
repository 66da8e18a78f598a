// The timeline of one outage from stored rows.
#include <algorithm>
#include <cmath>
#include <map>

#include "app/board_views.h"
#include "app/people.h"
#include "app/stored_decision.h"
#include "core/wording.h"
#include "settings/plan.h"

namespace ebbwatch {
namespace {

std::string words(std::string text) {
  std::replace(text.begin(), text.end(), '_', ' ');
  return text;
}

/// The identifier of the site that a subject belongs to; empty: none, or of several.
std::string site_around(const StatusInput& in, const std::string& scope, const std::string& id) {
  for (const auto& site : in.settings.sites) {
    if (scope == "site" && site.id == id) return id;
    for (const auto& tank : site.tanks) {
      if (scope == "tank" && tank.id == id) return site.id;
      for (const auto& controller : tank.controllers) {
        if (scope == "controller" && controller.id == id) return site.id;
      }
    }
  }
  return {};
}

std::string fate(const NoticeRow& notice, WallTime now) {
  if (notice.state == "waiting") {
    return notice.attempts == 0
               ? "waiting"
               : "waiting, next attempt " + moment_of(notice.next_attempt_at, now).shown;
  }
  if (notice.state == "dead_letter") return "given up";
  return notice.state;
}

struct Timed {
  WallTime at;
  TimelineEntry entry;
};

Timed decision_entry(const StoredDecision& told, const StatusInput& in) {
  TimelineEntry entry;
  entry.at = moment_of(told.at, in.clock.wall_now());
  entry.headline = decision_words(told.kind) + " of the " + told.scope + " " +
                   name_of_subject(in.settings, told.scope, told.subject) + ", cause " +
                   cause_text(told.cause, told.confidence);
  entry.lines = told.evidence;
  return {told.at, std::move(entry)};
}

Timed act_entry(const StoredDecision& told, const StatusInput& in) {
  TimelineEntry entry;
  entry.kind = TimelineEntry::Kind::act;
  entry.at = moment_of(told.at, in.clock.wall_now());
  entry.headline = decision_words(told.kind) +
                   (told.by.empty() ? "" : " by " + person_name(in.settings, told.by));
  if (!told.text.empty()) entry.lines = {told.text};
  return {told.at, std::move(entry)};
}

Timed taken_entry(const CallRow& call, const StatusInput& in) {
  TimelineEntry entry;
  entry.kind = TimelineEntry::Kind::act;
  entry.at = moment_of(*call.acknowledged_at, in.clock.wall_now());
  entry.headline = "Taken on by " + person_name(in.settings, call.acknowledged_by);
  return {*call.acknowledged_at, std::move(entry)};
}

Timed notice_entry(const NoticeRow& notice, const std::vector<AttemptRow>& attempts,
                   const StatusInput& in) {
  const WallTime now = in.clock.wall_now();
  TimelineEntry entry;
  entry.kind = TimelineEntry::Kind::notice;
  entry.at = moment_of(notice.created_at, now);
  entry.headline = "Notice of " + words(notice.kind) + " to " +
                   person_name(in.settings, notice.keyholder) + " by " + notice.notifier + ": " +
                   fate(notice, now);
  for (const auto& attempt : attempts) {
    if (attempt.notice != notice.notice) continue;
    entry.lines.push_back("Attempt " + std::to_string(attempt.number) + " at " +
                          moment_of(attempt.at, now).shown + ": " + words(attempt.outcome) +
                          (attempt.answer.empty() ? "" : " (" + attempt.answer + ")"));
  }
  return {notice.created_at, std::move(entry)};
}

std::vector<TimelineEntry> timeline(const BoardInput& in,
                                    const std::vector<StoredDecision>& decisions,
                                    const OutageRows& rows) {
  std::vector<Timed> all;
  const auto first = std::find_if(decisions.begin(), decisions.end(),
                                  [](const StoredDecision& told) { return !told.act; });
  if (first != decisions.end()) {
    TimelineEntry entry;
    entry.at = moment_of(first->since, in.status.clock.wall_now());
    entry.headline = "Contact ended, as far as is known";
    all.push_back({first->since, std::move(entry)});
  }
  for (const StoredDecision& told : decisions) {
    all.push_back(told.act ? act_entry(told, in.status) : decision_entry(told, in.status));
  }
  if (rows.call && rows.call->acknowledged_at) all.push_back(taken_entry(*rows.call, in.status));
  for (const auto& notice : rows.notices) {
    all.push_back(notice_entry(notice, rows.attempts, in.status));
  }
  std::stable_sort(all.begin(), all.end(),
                   [](const Timed& a, const Timed& b) { return a.at < b.at; });
  std::vector<TimelineEntry> entries;
  for (auto& timed : all) entries.push_back(std::move(timed.entry));
  return entries;
}

}  // namespace

std::string cause_text(const std::string& cause, double confidence) {
  static const std::map<std::string, std::string> table = {{"mains_power", "mains power off"},
                                                           {"internet", "internet link down"},
                                                           {"controller", "controller itself"},
                                                           {"watcher_uplink", "our own link"}};
  const auto found = table.find(cause);
  if (found == table.end()) return "not known";
  return found->second + " (about " + std::to_string(std::lround(confidence * 100)) + " in 100)";
}

Result<OutageRows> rows_of(Store& store, OutageId id) {
  OutageRows rows;
  HistoryQuery query;
  query.outage = id;
  auto decisions = store.decisions(query);
  if (!decisions) return decisions.error();
  rows.decisions = std::move(decisions.value());
  auto notices = store.notices_of(id);
  if (!notices) return notices.error();
  rows.notices = std::move(notices.value());
  for (const auto& notice : rows.notices) {
    auto attempts = store.attempts_of(notice.notice);
    if (!attempts) return attempts.error();
    rows.attempts.insert(rows.attempts.end(), attempts.value().begin(), attempts.value().end());
  }
  auto call = store.call_of(id);
  if (!call) return call.error();
  rows.call = std::move(call.value());
  return rows;
}

namespace {

/// Name, state and times by what was decided. @pre there is a decision.
void add_decided(OutageView& view, const BoardInput& in, OutageId id,
                 const std::vector<StoredDecision>& decided) {
  const auto& status = in.status;
  const WallTime now = status.clock.wall_now();
  const StoredDecision& newest = decided.back();
  view.scope = newest.scope;
  view.name = name_of_subject(status.settings, newest.scope, newest.subject);
  const OutageRecord* running = status.watch.outage(id);
  view.running = running != nullptr && !running->closed;
  view.alarm = view.running ? words(word(running->alarm)) : "normal, recovered";
  const WallTime since = decided.front().since;
  view.since = moment_of(since, now);
  view.decided = moment_of(decided.front().at, now);
  const auto* reading = status.readings != nullptr ? status.readings->alarm(id) : nullptr;
  if (reading != nullptr) {
    view.running = true;
    view.alarm = alarm_word(*reading);
  }
  const bool recovered = newest.kind == "recovery" || newest.kind == "reading_normal";
  if (recovered) view.returned = moment_of(newest.since, now);
  view.gone_for = span_text((recovered ? newest.since : now) - since);
  view.cause = cause_text(newest.cause, newest.confidence);
  const StoredDecision& begun = decided.front();
  if (begun.kind == "reading_alarm" && !begun.evidence.empty()) view.cause = begun.evidence.front();
}

/// An exercise has no decisions, only acts.
void add_drill(OutageView& view, const BoardInput& in, const StoredDecision& begun) {
  view.drill = true;
  view.scope = "drill";
  view.name = "Drill at " + name_of_subject(in.status.settings, begun.scope, begun.subject);
  view.alarm = "none: an exercise";
  view.since = view.decided = moment_of(begun.at, in.status.clock.wall_now());
  view.gone_for = "not at all";
  view.cause = "an exercise";
}

}  // namespace

std::optional<OutageView> outage_view(const BoardInput& in, OutageId id, const OutageRows& rows) {
  std::vector<StoredDecision> all, decided;
  OutageView view;
  for (const auto& row : rows.decisions) {
    all.push_back(read_decision(row));
    const StoredDecision& told = all.back();
    if (!told.act) decided.push_back(told);
    if (told.kind == true_kind) view.false_by.clear();
    if (told.kind == false_kind) view.false_by = person_name(in.status.settings, told.by);
  }
  if (all.empty()) return std::nullopt;
  const auto& status = in.status;
  const StoredDecision& newest = decided.empty() ? all.front() : decided.back();
  view.outage = outage_text(status.watch.plan(), id);
  view.site = site_around(status, newest.scope, newest.subject);
  view.sites = sites_of_subject(status.settings, newest.scope, newest.subject);
  if (decided.empty()) {
    add_drill(view, in, newest);
  } else {
    add_decided(view, in, id, decided);
  }
  if (rows.call) view.taken_by = person_name(status.settings, rows.call->acknowledged_by);
  view.entries = timeline(in, all, rows);
  if (view.running) view.clocks = clocks_of_outage(in, id);
  return view;
}

}  // namespace ebbwatch
