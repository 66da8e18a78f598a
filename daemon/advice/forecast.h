// From a measured history to the false alarms that a delay would give.
//
// Two estimates, of which the larger counts. (1) Silences of this controller that ended by
// themselves and were longer than the delay, per year watched; it holds for bursts. (2) Chance runs
// of single losses, interval / ((1 - p) p^n) between two of them (Chen, Toueg, Aguilera 2002,
// NFD-S with N missed in a row); it goes on where a short history shows nothing. With less than a
// week of history a start value takes part: half a silence a day, 5 min long on average
// (exponential), as heavy as two days; and 3 % loss, as heavy as a hundred check-ins.
#pragma once

#include <cstdint>
#include <optional>

#include "advice/meter.h"
#include "text/rate.h"

namespace ebbwatch::advice {

/// Less history than this is not enough to judge by.
inline constexpr Span history_least = Span::of_days(7);

/// Limits of the mean of a Poisson count, 95 % each on its side; 0 seen gives 3.0, the "rule of
/// three". Source: common practice (Garwood 1936, exact limits).
double poisson_at_most(std::uint64_t seen);
double poisson_at_least(std::uint64_t seen);

struct FalseAlarms {
  double a_year = 0;              ///< The estimate.
  std::optional<double> at_most;  ///< With 95 % confidence; empty without a week of history.
  std::uint64_t seen = 0;         ///< Silences in the history that would have been told.
};

/// @param delay from the first expected check-in that does not come.
FalseAlarms false_alarms(const Measure& measure, Span delay);

/// What is assumed before anything was measured.
Measure nothing_measured(const std::string& controller, Span interval);

/// Chance that a single check-in is lost.
double loss_of(const Measure& measure);
/// Room for the jitter of an arrival before it counts as missed.
Span margin_of(const Measure& measure);
/// The time from the end of contact to the telling that a delay gives, in the worst case.
Span told_within(const Measure& measure, Span delay);
/// The shortest delay, up to outage_from, that gives so few; empty: none does.
std::optional<Span> delay_for(const Measure& measure, const Rate& rate);

}  // namespace ebbwatch::advice
