// Whether the alarms deserve trust: performance measures after ISA-18.2-2016 section 16.4 and
// EEMUA 191, for each person who is told, with aims far tighter than a plant's: under one message a
// week in normal life, and more than five within ten minutes is a flood.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "report/record.h"

namespace ebbwatch::report {

/// Counts of alarms in bins of ten minutes, one after the other.
using Bins = std::vector<std::size_t>;

struct FloodRule {
  std::size_t begins_above = 10;  ///< ISA-18.2: more than 10 in a bin begin a flood,
  std::size_t ends_below = 5;     ///< fewer than 5 end it.
};
/// For one person at home: more than five messages in ten minutes.
inline constexpr FloodRule person_rule{5, 3};

struct Flood {
  std::size_t first_bin = 0, last_bin = 0;
  std::size_t alarms = 0;
};
struct Floods {
  std::vector<Flood> floods;
  std::size_t bins_in_flood = 0, alarms_inside = 0;
  std::size_t peak = 0;        ///< The largest bin of all.
  std::size_t bins_above = 0;  ///< More than begins_above.
};
Floods find_floods(const Bins& bins, FloodRule rule);

/// The share of the greatest `many` counts in the sum of all, 0 to 1; 0 for none.
double share_of_greatest(std::vector<std::size_t> counts, std::size_t many);

struct PersonLoad {
  std::string person;
  std::size_t messages = 0;  ///< Notices made for them, however often each was tried.
  double per_week = 0;
  std::size_t most_in_ten_minutes = 0;  ///< In any bin of the clock.
  Floods floods;                        ///< By person_rule.
};

struct Performance {
  std::size_t alarms = 0;          ///< Outages that somebody was told of.
  std::vector<PersonLoad> people;  ///< Most messages first.
  std::size_t asked = 0, acknowledged = 0;
  std::optional<Span> acknowledged_middle, acknowledged_longest;  ///< From decision to answer.
  std::size_t marked_false = 0;                                   ///< Of `alarms`, by people.
  std::size_t brief = 0;     ///< Returned within brief_at_most of the decision ("fleeting").
  std::size_t standing = 0;  ///< Stood longer than standing_from ("stale").
  std::size_t unsteady = 0;  ///< Spells that were held back as one ("chattering").
  double share_of_ten = 0;   ///< Of the ten subjects with the most alarms.
  std::string loudest;       ///< The subject with over half of at least four alarms; empty: none.
};
/// Trust is a budget: three false alarms within a year spend it (as police forces count them).
inline constexpr std::size_t false_a_year_max = 2;
inline constexpr Span brief_at_most = Span::of_min(5);
inline constexpr Span standing_from = Span::of_h(24);

Performance performance_of(const Record& record);

}  // namespace ebbwatch::report
