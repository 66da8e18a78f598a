// Figure of merit of one source, RFC 2439: each break of contact adds a penalty that decays with a
// half-life; above `suppress` the source is unsteady until it falls below `reuse`.
#pragma once

#include "core/site_plan.h"
#include "core/time.h"

namespace ebbwatch {

/// `penalty` after `passed`: halves every half-life.
double decayed(double penalty, Span passed, Span half_life);
/// Highest figure that is ever kept, so that nothing stays unsteady longer than `longest` after its
/// last break: reuse * 2^(longest / half_life).
double ceiling_of(const Steadiness& rules);
/// False for rules under which nothing could ever be suppressed (suppress above the ceiling) or
/// that make no sense (reuse not below suppress, a half-life that is not positive).
bool usable(const Steadiness& rules);

class FigureOfMerit {
 public:
  FigureOfMerit() = default;
  /// Goes on from what an earlier process stored.
  FigureOfMerit(double penalty, Instant as_of, bool unsteady)
      : penalty_(penalty), as_of_(as_of), unsteady_(unsteady) {}
  /// A break of contact at `at`. @pre `at` is not before the previous call's.
  void add(Instant at, const Steadiness& rules);
  double at(Instant now, const Steadiness& rules) const;
  bool unsteady() const { return unsteady_; }
  double penalty() const { return penalty_; }
  Instant as_of() const { return as_of_; }
  /// Ends the unsteady state once the figure is below `reuse`. @return true when it just ended.
  bool settle(Instant now, const Steadiness& rules);
  /// When the figure will have fallen to `reuse`; `now` when it has. @pre usable(rules).
  Instant reuse_at(Instant now, const Steadiness& rules) const;

 private:
  double penalty_ = 0;
  Instant as_of_;
  bool unsteady_ = false;
};

}  // namespace ebbwatch
