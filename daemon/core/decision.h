// What leaves the core: a decision with everything that a person or a program needs to believe it.
// Plain data with positions; core/wording.* turns evidence into sentences outside the hot path.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

#include "core/fixed_list.h"
#include "core/ids.h"
#include "core/limits.h"
#include "core/time.h"

namespace ebbwatch {

enum class DecisionKind : std::uint8_t {
  loss,           ///< Confirmed; told once for one outage.
  recovery,       ///< Contact is back after off-delay; carries the final cause.
  cause_revised,  ///< Cause, confidence or scope of a running outage changed.
  watch_gap,      ///< This watcher was stopped, asleep or cut off; never a loss of a tank.
  unsteady,       ///< Repeated short losses are held back as one standing alarm.
  steady,         ///< That standing alarm ended.
};

enum class Cause : std::uint8_t {
  undetermined,
  mains_power,
  internet,
  controller,
  watcher_uplink,
};

/// One fact behind a decision. `code` says which sentence, the rest fills its gaps (unused: zero).
struct Evidence {
  enum class Code : std::uint8_t {
    silent_since,       ///< subject, at: "lagoon-main was last heard at 14:02."
    never_in_doubt,     ///< subject, at: still heard at `at`.
    power_was_battery,  ///< subject, at: reported running on battery at `at`; count 1: still heard.
    power_was_mains,    ///< subject, at: last reported mains at `at`.
    all_of_tank_silent,  ///< subject tank, count controllers.
    all_of_site_silent,  ///< subject site, count tanks.
    mains_fed_silent,    ///< subject tank or site: all that runs on mains there; others are heard.
    sites_silent_together,  ///< subject area or provider, count of total sites, span between them.
    others_still_heard,     ///< subject, count controllers elsewhere still in contact.
    restarted,              ///< subject, span: uptime says it started `span` before its first word.
    kept_running,           ///< subject, span: uptime covers the whole silence.
    sent_while_unheard,     ///< subject, count: seq says so many check-ins were sent and lost.
    nothing_sent,           ///< subject: seq says that none was sent in between.
    buffered_received,      ///< subject, count: stored check-ins from the silence arrived.
    uplink_failed,          ///< span: this watcher's own link did not work for `span`.
    watcher_stopped,        ///< at, span: this watcher was not running.
    broker_silent,          ///< at, span, count: the broker through which `count` controllers check
                            ///< in did not answer; total 1: it does not yet.
    witness_silent_too,     ///< count of total witnesses do not hear it either.
    witness_hears,          ///< count of total witnesses still hear it.
    often_unsteady,         ///< subject, count: so many short losses lately.
    often_lost,    ///< subject, count, span: it loses `count` check-ins of 100, so they were
                   ///< waited for `span` longer.
    planned_stop,  ///< subject, span, at: it announced a stop of `span`, until `at`.
    was_put_away,  ///< subject, at, span: put away until `at`, silent `span` before that;
                   ///< count 0: it was shelved, 1: it was out of service.
  };
  Code code = Code::silent_since;
  Subject subject;
  Instant at;
  Span span;
  std::uint32_t count = 0;
  std::uint32_t total = 0;
};

/// Whether people are told of a decision.
enum class Told : std::uint8_t {
  as_usual,
  held,  ///< Recorded only: all that it is about is put away (core/shelf.h).
  late,  ///< A loss that was held, or whose calls had stopped, is still there: tell it now.
};

struct Decision {
  Instant at;
  DecisionKind kind = DecisionKind::loss;
  Told told = Told::as_usual;
  Subject subject;
  OutageId outage = 0;
  /// When contact is believed to have ended (loss, cause_revised, watch_gap, unsteady), or to have
  /// returned (recovery, steady).
  Instant since;
  Cause cause = Cause::undetermined;
  double confidence = 0;  ///< 0..1 for `cause`.
  FixedList<Evidence, limits::evidence_per_decision> evidence;
};

/// The words of FORMATS section 5 for these enumerators, e.g. "cause_revised", "mains_power",
/// "tank".
const char* word(DecisionKind kind);
const char* word(Cause cause);
const char* word(Scope scope);

}  // namespace ebbwatch
