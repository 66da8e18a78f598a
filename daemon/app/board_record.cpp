#include "app/board_record.h"

#include <algorithm>

#include "app/board_views.h"
#include "app/drill_book.h"
#include "app/people.h"
#include "app/stored_decision.h"
#include "core/limits.h"
#include "core/wording.h"
#include "report/collect.h"
#include "report/performance.h"
#include "report/words.h"
#include "text/calendar.h"

namespace ebbwatch {
namespace {

std::string low(std::string text) {
  for (char& c : text) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c + 32);
  }
  return text;
}

bool is_of_kind(const StoredDecision& told, const std::string& kind) {
  if (kind.empty()) return true;
  const bool drill = told.kind.starts_with("drill");
  const bool gap = told.kind == "watch_gap";
  if (kind == "drills") return drill;
  if (kind == "gaps") return gap;
  if (kind == "acts") return told.act && !drill;
  return kind == "outages" && !told.act && !gap;
}

/// A site also stands for its tanks and their controllers.
bool is_about(const Settings& settings, const StoredDecision& told, const std::string& subject) {
  if (subject.empty() || told.subject == subject) return true;
  const auto sites = sites_of_subject(settings, told.scope, told.subject);
  return std::find(sites.begin(), sites.end(), subject) != sites.end();
}

bool holds_words(const HistoryLine& line, const StoredDecision& told, const std::string& wanted) {
  if (wanted.empty()) return true;
  std::string all = line.decision + " " + line.scope + " " + line.subject + " " + told.subject +
                    " " + line.outage + " " + line.cause + " " + line.detail;
  for (const auto& sentence : told.evidence) all += " " + sentence;
  return low(std::move(all)).find(wanted) != std::string::npos;
}

HistoryLine line_of(const Settings& settings, const StoredDecision& told, WallTime now) {
  HistoryLine line{moment_of(told.at, now),
                   decision_words(told.kind),
                   told.scope,
                   name_of_subject(settings, told.scope, told.subject),
                   told.outage ? settings.watcher.name + "-" + std::to_string(told.outage) : "",
                   told.cause.empty() ? "" : cause_text(told.cause, told.confidence)};
  if (told.act && !told.by.empty()) {
    line.detail = person_name(settings, told.by) + (told.text.empty() ? "" : ": " + told.text);
  }
  return line;
}

std::string names(const Settings& settings, const std::string& ids) {
  std::string out;
  for (const auto& id : words_of(ids)) out += (out.empty() ? "" : ", ") + person_name(settings, id);
  return out;
}

using Verdict = MeasureLine::Verdict;
Verdict met(bool good) {
  return good ? Verdict::good : Verdict::poor;
}

std::string of(std::size_t part, std::size_t whole) {
  return std::to_string(part) + " of " + std::to_string(whole);
}

PersonLine person_line(const report::PersonLoad& load) {
  return {load.person,
          {{"Messages", std::to_string(load.messages), ""},
           {"Messages a week", report::decimal_text(load.per_week, 2), "under 1",
            met(load.per_week < 1)},
           {"Most in ten minutes", std::to_string(load.most_in_ten_minutes), "at most 5",
            met(load.most_in_ten_minutes <= report::person_rule.begins_above)},
           {"Floods", std::to_string(load.floods.floods.size()), "none",
            met(load.floods.floods.empty())}}};
}

std::vector<MeasureLine> measures_of(const report::Performance& it, std::size_t days) {
  const auto wait = [](const std::optional<Span>& span) {
    return span ? span_text(*span) : std::string("-");
  };
  const double false_a_year = static_cast<double>(it.marked_false) * 365 /
                              static_cast<double>(std::max<std::size_t>(days, 1));
  return {
      {"Outages that somebody was told of", std::to_string(it.alarms), ""},
      {"Marked as false by people", of(it.marked_false, it.alarms), "at most 2 a year",
       met(it.marked_false == 0 ||
           (days >= 365 && false_a_year <= static_cast<double>(report::false_a_year_max)))},
      {"Taken on by somebody", of(it.acknowledged, it.asked), "all",
       met(it.acknowledged == it.asked)},
      {"Time until taken on, median", wait(it.acknowledged_middle), ""},
      {"Time until taken on, longest", wait(it.acknowledged_longest), ""},
      {"Brief: over within 5 min of being told", std::to_string(it.brief), "none",
       met(it.brief == 0)},
      {"Standing for more than a day", std::to_string(it.standing), "none", met(it.standing == 0)},
      {"Unsteady spells held back as one", std::to_string(it.unsteady), "none left unmended"},
      {"Share of the ten subjects with most alarms",
       std::to_string(static_cast<int>(it.share_of_ten * 100 + 0.5)) + " %", ""}};
}

}  // namespace

HistoryQuery history_query(HistoryView& view) {
  HistoryQuery query;
  view.most = limits::board_history_rows_max;
  query.newest = limits::board_history_looked_at_max;
  if (!view.from.empty()) query.from = local_day(view.from);
  if (!view.until.empty()) query.until = local_day(view.until, 1);
  if ((!view.from.empty() && !query.from) || (!view.until.empty() && !query.until)) {
    view.complaint = "A day looks like 2026-11-25.";
  }
  return query;
}

std::vector<HistoryLine> history_lines(const Settings& settings,
                                       const std::vector<DecisionRow>& rows,
                                       const HistoryView& view, WallTime now) {
  std::vector<HistoryLine> lines;
  const std::string wanted = low(view.words);
  for (auto row = rows.rbegin(); row != rows.rend() && lines.size() < view.most; ++row) {
    const StoredDecision told = read_decision(*row);
    if (!is_of_kind(told, view.kind) || !is_about(settings, told, view.subject)) continue;
    auto line = line_of(settings, told, now);
    if (holds_words(line, told, wanted)) lines.push_back(std::move(line));
  }
  return lines;
}

std::vector<DecisionRow> history_rows(const Settings& settings, std::vector<DecisionRow> rows,
                                      const HistoryView& view, WallTime now) {
  const std::string wanted = low(view.words);
  std::erase_if(rows, [&](const DecisionRow& row) {
    const StoredDecision told = read_decision(row);
    return !is_of_kind(told, view.kind) || !is_about(settings, told, view.subject) ||
           !holds_words(line_of(settings, told, now), told, wanted);
  });
  return rows;
}

Result<report::Record> performance_record(Store& store, const Settings& settings, std::size_t days,
                                          WallTime now) {
  return report::collect(
      store, settings, {"", now - Span::of_days(static_cast<std::int64_t>(days)), now, "", false});
}

PerformanceView performance_view(const report::Record& record, std::size_t days) {
  const auto it = report::performance_of(record);
  PerformanceView view;
  view.days = days;
  view.since = local_minute(record.from);
  view.loudest = it.loudest;
  view.measures = measures_of(it, days);
  for (const auto& load : it.people) view.people.push_back(person_line(load));
  return view;
}

DrillsView drills_view(const Settings& settings, const std::vector<WayProof>& ways,
                       const std::vector<DrillRow>& rows, WallTime now) {
  DrillsView view;
  const auto moment = [&](const std::optional<WallTime>& at) {
    return at ? moment_of(*at, now) : Moment{};
  };
  for (const auto& way : ways) {
    view.ways.push_back({person_name(settings, way.keyholder), way.notifier,
                         moment(way.delivered_at), moment(way.answered_at), moment(way.proven_at),
                         way.asks_answer, way.overdue});
  }
  for (auto row = rows.rbegin(); row != rows.rend(); ++row) {
    view.drills.push_back({settings.watcher.name + "-" + std::to_string(row->outage),
                           name_of_subject(settings, "site", row->site),
                           person_name(settings, row->by), names(settings, row->told),
                           names(settings, row->answered), moment_of(row->started_at, now),
                           row->closed ? "over" : "waits for answers"});
  }
  for (const auto& site : settings.sites) {
    if (site.call_list && !site.is_watcher) view.sites.push_back({site.id, site.name});
  }
  for (const auto& one : settings.keyholders) {
    view.people.push_back({one.id, one.name.empty() ? one.id : one.name});
  }
  return view;
}

}  // namespace ebbwatch
