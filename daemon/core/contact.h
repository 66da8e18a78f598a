// Contact of one controller: enrolled, present, overdue, silent, returning; and what its silence
// and its return tell.
#pragma once

#include <cstdint>
#include <optional>

#include "core/arrival.h"
#include "core/event.h"
#include "core/freshness.h"
#include "core/site_plan.h"
#include "core/steadiness.h"
#include "core/time.h"
#include "core/watch.h"

namespace ebbwatch {

/// Between which moments contact ended: after the last check-in heard, before the first one missed.
struct Onset {
  Instant from;
  Instant to;
};

/// What a controller's first words after a silence told.
struct Return {
  Instant at = Instant::never();  ///< First heard again.
  Instant unbroken_since;         ///< Off-delay counts from here (blind time moves it on).
  Instant started_at;             ///< When it started, by its uptime.
  std::uint32_t heard = 0;        ///< Check-ins since.
  bool restarted = false;
  bool kept_running = false;  ///< Its uptime covers the whole silence.
  bool uptime_known = false;
  bool seq_known = false;
  std::uint32_t sent_unheard = 0;  ///< Check-ins that it sent during the silence, by seq.
};

/// How far the question to the witnesses about one silence has got.
struct Asking {
  Instant first = Instant::never();  ///< First asked in this silence; never(): not yet.
  Instant last = Instant::never();   ///< Asked last.
  Instant not_before;                ///< Nobody could be asked before it.
  bool heard_out = false;            ///< All that answer have answered the last question.
  bool waited_out = false;           ///< Somebody was waited for in vain: not once more.
  bool waits = false;                ///< A judgement waits for the answers.
  bool vouched_before = false;       ///< They heard it earlier in this silence.
  bool vouched = false;  ///< They still hear it: the path to it is broken, not the tank.
};

struct Controller {
  static constexpr std::uint32_t no_outage = 0xffffffffU;

  Arrival arrival;
  Newest newest;
  FigureOfMerit figure;
  Contact contact = Contact::enrolled;
  bool ripe = false;                     ///< On-delay and min_missed are over; a verdict is due.
  bool queued = false;                   ///< In the list of those to be judged.
  bool early = false;                    ///< To be judged on a battery-backed controller's word.
  bool fresh_phase = false;              ///< After a blind spell the old grid says nothing.
  bool by_broker = false;                ///< Its newest check-in came through the message broker.
  bool cut_off = false;                  ///< By the broker, which does not answer this watcher.
  bool planned = false;                  ///< It announced a stop with its newest check-in.
  Instant shaken_at = Instant::never();  ///< When its newest short outage ended.
  Power last_power = Power::unknown;
  Power buffered_power = Power::unknown;
  std::uint32_t buffered = 0;        ///< Stored check-ins received since the silence began.
  std::uint32_t outage = no_outage;  ///< Slot of the running outage that covers it.
  Instant last_heard = Instant::never();
  Instant last_direct = Instant::never();  ///< The same without what others passed on.
  Instant contact_since;
  Instant last_power_at;
  Instant mains_seen_at;                     ///< Newest word that mains was on.
  Instant battery_since = Instant::never();  ///< First word of running on battery; never: on mains.
  Span blind;                                ///< Time of this silence in which nobody listened.
  Instant not_before;  ///< No loss before it: a fair chance after a blind spell.
  Instant ready_at;    ///< When it was put up for judgement.
  Instant ripe_at;
  Instant planned_at;                   ///< When it announced the stop. @pre planned
  Instant planned_until;                ///< The end of it. @pre planned
  Instant early_at = Instant::never();  ///< When a battery-backed word first made its loss likely.
  Return back;
  Asking asking;

  bool live() const {
    return contact == Contact::present || contact == Contact::overdue ||
           contact == Contact::returning;
  }
  bool unheard() const { return contact == Contact::overdue || contact == Contact::silent; }
  /// Being fed by its battery now.
  bool on_battery() const { return last_power == Power::battery; }
};

/// When contact of an unheard controller ended; one check-in before the end may have been lost.
/// @pre unheard().
Onset onset_of(const Controller& controller);
/// Expected check-ins missed in a row by `at`, time in which nobody listened left out. @pre
/// overdue.
std::int64_t missed_by(const Controller& controller, Instant at);
/// When the `count`-th expected check-in in a row will have been missed. @pre overdue, count >= 1.
Instant missed_at(const Controller& controller, std::int64_t count);
/// When its loss may be confirmed: on_delay after the first missed expected arrival, min_missed of
/// them missed, and a fair chance since the watcher was last blind. After a stop that it announced
/// the wait is over when it does not come back in time. @pre overdue.
Instant confirm_at(const Controller& controller, const Detection& rules);
/// When unbroken contact will be over for want of check-ins: the second one missed. @pre returning
/// or present.
Instant break_at(const Controller& controller);
/// Weight of the silence as evidence, in nats: chance that all these check-ins were lost one by one
/// while all was well. @pre overdue.
double silence_nats(const Controller& controller, Instant at);

/// Leaves a blind spell out of an ongoing wait of this controller.
void leave_out(Controller& controller, const Detection& rules, Instant from, Instant to);

}  // namespace ebbwatch
