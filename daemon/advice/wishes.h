// From a wish ("tell within 10 min, at most one false alarm a year") to the delays that serve it
// best, and to a plain word on whether it can be had.
//
// For a given interval the longest delay that the wished time allows has the fewest false alarms of
// all detectors (Chen, Toueg, Aguilera 2002, Theorem 5), so that is what is chosen: on_delay =
// tell_within - interval - margin. It does not move with every day of history; the history says
// what to expect of it. A wish that cannot be had keeps its time and says so.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "advice/forecast.h"
#include "settings/settings.h"

namespace ebbwatch::advice {

enum class Standing : std::uint8_t {
  kept,      ///< Even the upper limit of what the history allows is within the wish.
  likely,    ///< The estimate is; the history is too short to be sure.
  unknown,   ///< Less than a week of history: figures are start values.
  too_many,  ///< More false alarms than wished.
  too_slow,  ///< The interval is too long for the wished time.
};

struct Choice {
  std::string controller;
  DetectionWish wish;
  Span interval;
  Span on_delay;
  std::uint32_t min_missed = 2;
  Span told_within;  ///< What these give, in the worst case.
  FalseAlarms expected;
  Standing standing = Standing::unknown;
  Span watched;                          ///< How much history this rests on.
  std::optional<Span> instead_within;    ///< The time that would keep the wished false alarms.
  std::optional<Span> longest_interval;  ///< That could keep the wish (procedure 3c of the paper).
};

/// @pre both halves of the wish are given.
Choice choose(const DetectionWish& wish, const Measure& measure);

/// One for each controller whose detection is wished, in the order of the file. Controllers that
/// the history does not know are judged by start values.
std::vector<Choice> choices(const Settings& settings, const History& history);
/// Whether any controller's detection is wished.
bool has_wishes(const Settings& settings);
/// The settings with the chosen delays written at their controllers.
Settings with_choices(Settings settings, const std::vector<Choice>& choices);

/// False for `too_many` and `too_slow`.
bool can_be_had(const Choice& choice);
/// "lagoon-main: on_delay 9min, min_missed 3 tell within 10 min; …": one line for people.
std::string sentence(const Choice& choice);
/// "0.4", "12", "under 0.01"
std::string a_year_text(double a_year);

}  // namespace ebbwatch::advice
