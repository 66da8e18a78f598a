// What the board's pages show, as plain data with the words already chosen. app/ fills it, the
// pages turn it into HTML; neither knows the other's business.
#pragma once

#include <algorithm>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "board/routes.h"
#include "charts/strip_chart.h"

namespace ebbwatch {

/// A time for people and, in `iso` (RFC 3339), for programs. Empty texts: never.
struct Moment {
  std::string shown;  ///< "14:02"
  std::string iso;
  bool operator==(const Moment&) const = default;
};

/// What every page has around it.
struct Frame {
  std::string watcher;
  Role role = Role::viewer;
  std::string person;
  std::string form_token;
  Moment now;
  /// The newest event of the stream that the page already shows.
  std::string seen;
  /// What is wrong with the watcher itself, in sentences; empty: nothing is known to be.
  std::vector<std::string> remarks;
  /// Identifiers of the sites where a keyholder may act. A host may everywhere.
  std::vector<std::string> own_sites{};
  /// The key of a read-only address, for a page on a wall: nothing leads away from it, and nobody
  /// acts on it.
  std::string wall_key{};

  bool may_act(const std::vector<std::string>& sites) const {
    if (role == Role::host) return true;
    return role == Role::keyholder &&
           std::any_of(sites.begin(), sites.end(), [this](const std::string& site) {
             return std::find(own_sites.begin(), own_sites.end(), site) != own_sites.end();
           });
  }
};

/// One of a tank's two clocks: how long it has without power. Hours are rounded as the words are,
/// so that two views differ only when the words do.
struct ClockFace {
  std::string name;  ///< "Oxygen", "Temperature"
  std::string text;  ///< "below 24 °C in 3 to 17 hours", or why there is no range.
  bool running = false;
  double low_h = 0, high_h = 0;  ///< From now, 0 to 24; the dial shows them.
  bool operator==(const ClockFace&) const = default;
};
/// Both, with the one to act on first. No faces: nothing is to be shown.
struct ClocksView {
  std::string tank;       ///< Identifier.
  std::string condition;  ///< "If the power goes out now:"
  std::vector<ClockFace> faces;
  std::vector<std::string> assumptions;
  bool operator==(const ClocksView&) const = default;
};

/// A reading that is out of its limits.
struct ReadingLine {
  std::string outage;  ///< "harbour-17"
  std::string text;    ///< "water 29.1 °C, above its limit of 28 °C, since 14:02"
  std::string alarm;   ///< "unacknowledged", "acknowledged", "shelved"
  bool operator==(const ReadingLine&) const = default;
};

/// One window of the annunciator panel.
struct PanelWindow {
  std::string tank;  ///< Identifier.
  std::string name;  ///< Engraved.
  std::string site;  ///< Identifier.
  std::string site_name;
  std::string contact;  ///< "in contact", "in doubt", "lost", "returning"
  std::string alarm;    ///< Words of ISA-18.2 with blanks: "normal", "unacknowledged", …
  Moment since;         ///< Of the running outage.
  std::string outage;   ///< "harbour-17"; empty: none is running.
  ClocksView clocks{};  ///< While an outage is running.
  std::vector<ReadingLine> readings{};  ///< Of which an alarm runs.
  bool operator==(const PanelWindow&) const = default;
};

/// One running outage, as the panel lists it.
struct RunningOutage {
  std::string outage, name, scope, alarm;
  Moment since;
  std::string cause;                 ///< "very probably mains power"; never empty.
  std::string taken_by;              ///< Empty: nobody yet.
  std::vector<std::string> sites{};  ///< Identifiers of those that it touches.
  bool operator==(const RunningOutage&) const = default;
};

struct PanelView {
  std::vector<PanelWindow> windows;
  std::vector<RunningOutage> running;
};

struct ControllerLine {
  std::string id, name, contact, supply, interval;
  Moment last_heard;
  std::string note{};  ///< Who hears it, when that is not this watcher; empty: it is.
};
struct TankSheet {
  std::string id, name, volume, instructions;
  std::vector<ControllerLine> controllers;
  PanelWindow window;
  ClocksView clocks{};
  std::optional<charts::StripChart> strip{};
};
struct CallStepLine {
  std::string after;  ///< "at once", "after 15 min"
  std::string whom, by;
};
/// One thing of a site that is put away.
struct PutAwayLine {
  std::string subject;  ///< "tank/lagoon", as the form takes it.
  std::string name;     ///< "tank Lagoon reef"
  std::string kind;     ///< "shelved" or "out of service"
  Moment since, until;
  std::string reason, by;
  bool may_end = false;  ///< From the board: what is shelved.
};
/// What may be chosen to be put away.
struct Choice {
  std::string value, name;
};
struct SiteView {
  std::string id, name, contact, alarm, area, provider, instructions;
  std::vector<TankSheet> tanks;
  std::string call_list;  ///< Identifier; empty: nobody is told.
  std::vector<CallStepLine> steps;
  std::string repeats;  ///< "again every 1 h, at most 6 times"; empty: not.
  std::vector<PutAwayLine> put_away{};
  std::vector<Choice> subjects{};  ///< The site, its tanks and their controllers.
  std::string strips_of{};         ///< "day", "week", "month"
  std::string complaint{};         ///< Why there are no strips; empty: there are.
};

/// One entry of an outage's timeline.
struct TimelineEntry {
  enum class Kind { decision, notice, act };
  Kind kind = Kind::decision;
  Moment at;
  std::string headline;
  std::vector<std::string> lines;
};
struct TankClocks {
  std::string name;  ///< Of the tank.
  ClocksView clocks;
};
struct OutageView {
  std::string outage, name, scope, site;
  bool running = false;
  std::string alarm;  ///< "recovered" when it is closed.
  Moment since, decided, returned;
  std::string gone_for;  ///< "1 h 12 min"
  std::string cause;
  std::string taken_by;
  std::vector<TimelineEntry> entries;
  std::vector<TankClocks> clocks{};  ///< Of a running one, the tank to go to first in front.
  std::vector<std::string> sites{};  ///< Identifiers of those that it touches.
  bool drill = false;
  std::string false_by{};  ///< Who marked it as false; empty: it counts as true.
};

struct HistoryLine {
  Moment at;
  std::string decision, scope, subject, outage, cause;
  std::string detail{};  ///< Of acts: who, and what they said.
};
struct HistoryView {
  std::string subject;             ///< As asked; empty: all.
  std::string from, until;         ///< "2026-11-25" as asked; may be empty.
  std::string complaint;           ///< What is wrong with the question; empty: nothing.
  std::vector<HistoryLine> lines;  ///< Newest first.
  std::size_t most = 0;            ///< So many lines at most are shown.
  std::string kind{};              ///< One of history_kinds(); empty: everything.
  std::string words{};             ///< To be found in a line, as asked.
};
/// Which lines the history can be narrowed to.
const std::vector<Choice>& history_kinds();

/// One figure and what it should be.
struct MeasureLine {
  std::string name, value, aim;
  enum class Verdict { none, good, poor } verdict = Verdict::none;
};
struct PersonLine {
  std::string name;
  std::vector<MeasureLine> measures;
};
struct PerformanceView {
  std::size_t days = 30;
  std::string since;  ///< "2026-10-26 14:02"
  std::vector<MeasureLine> measures;
  std::vector<PersonLine> people;
  std::string loudest;    ///< Empty: none makes over half.
  std::string complaint;  ///< Why there are no figures; empty: there are.
};

/// How one way to one person stands.
struct WayLine {
  std::string person, way;
  Moment delivered, answered, proven;
  bool asks_answer = false, overdue = false;
};
struct DrillLine {
  std::string outage, site, by, told, answered;
  Moment at;
  std::string state;  ///< "waits for answers", "over"
};
struct DrillsView {
  std::vector<WayLine> ways;
  std::vector<DrillLine> drills;      ///< Newest first.
  std::vector<Choice> sites, people;  ///< For a new one.
  std::string complaint;
};

struct LoginView {
  std::string watcher, form_token, next, complaint, person, role;
  bool password_set = true;
};

}  // namespace ebbwatch
