// Measures from a watcher's own history how well each controller is heard: check-ins lost, jitter,
// silences that ended by themselves. Streaming: events in, and a room that depends on the number of
// controllers alone.
//
// Time in which the watcher itself did not run, or its own link did not work, is nobody's silence;
// nor is a stop that a controller announced.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "advice/silences.h"
#include "core/arrival.h"
#include "core/event.h"
#include "core/freshness.h"
#include "core/self_trust.h"
#include "core/site_plan.h"

namespace ebbwatch::advice {

/// From here on a silence is taken for an outage that deserved a message, not for a false alarm. A
/// power dip with the restart of a router after it is over within about 10 min, while sustained
/// power cuts last two hours on average (EIA, SAIDI over SAIFI); the boundary leaves room.
inline constexpr Span outage_from = Span::of_min(20);

struct Measure {
  std::string controller;
  Span interval;  ///< As learnt from the newest check-ins; the configured one before that.
  Span watched;   ///< Heard or waited for, with the watcher listening.
  std::uint64_t heard = 0;
  std::uint64_t expected = 0;      ///< Check-ins outside silences of more than two in a row,
  std::uint64_t lost = 0;          ///< and how many of them were lost.
  double jitter_s = 0;             ///< Standard deviation of arrival against its forecast.
  Silences silences;               ///< Shorter than outage_from.
  std::uint64_t missed_three = 0;  ///< Of them those with three or more missed in a row,
  Span silent;                     ///< their length together,
  Span longest;                    ///< and the longest of them.
  std::uint64_t outages = 0;       ///< Silences from outage_from on.
  std::uint64_t left_out = 0;      ///< Gaps that were the watcher's own, or announced.
};

/// What the watcher itself missed.
struct OwnMeasure {
  Span length;  ///< From the first event to the last.
  Span blind;   ///< Thereof not running or cut off.
  std::uint64_t stopped = 0;
  std::uint64_t cut_off = 0;
};

struct History {
  std::vector<Measure> controllers;  ///< In the order of the plan.
  OwnMeasure own;
};

class Meter {
 public:
  /// @param plan is read now and not kept.
  explicit Meter(const WatchPlan& plan);
  /// @pre event.at >= the previous event's time.
  void on(const Event& event);
  History result() const;

 private:
  struct One {
    Path path = Path::remote;
    Arrival arrival;
    Newest newest;
    Instant last = Instant::never();
    Span blind_before;  // all blind time of its path up to `last`
    Instant planned_until{};
    std::uint64_t jitters = 0;
    double jitter_mean = 0, jitter_squares = 0;
    Measure measure;
  };
  void close(const std::optional<BlindSpell>& spell);
  void check_in(const CheckIn& check_in, Instant at);
  void gap(One& it, Instant at, std::int64_t sent_since);
  void silence(Measure& measure, Span overdue, std::int64_t missed);
  Span blind_of(const One& it) const {
    return it.path == Path::local ? blind_local_ : blind_remote_;
  }

  SelfTrust trust_;
  std::vector<One> controllers_;
  Span blind_local_, blind_remote_;
  OwnMeasure own_;
  Instant first_ = Instant::never(), newest_, blind_until_;
};

}  // namespace ebbwatch::advice
