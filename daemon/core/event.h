// What may enter the core. Every event carries the time at which it happened; events are fed in
// time order. Commands of people are events too, so that replaying a journal gives the same state.
#pragma once

#include <cstdint>
#include <optional>
#include <variant>

#include "core/ids.h"
#include "core/shelf.h"
#include "core/time.h"

namespace ebbwatch {

enum class Power : std::uint8_t { unknown, mains, battery };

/// A controller's message that it is alive (FORMATS: check-in, version 1).
struct CheckIn {
  ControllerIndex controller;
  std::optional<std::uint64_t> seq;
  std::optional<double> uptime_s;  ///< >= 0
  Power power = Power::unknown;
  std::optional<Span> next_in;  ///< When the next may be expected, if not the interval; > 0.
  std::optional<Span> leaving;  ///< A planned stop of this length; > 0.
  bool buffered = false;        ///< Sent late, from a buffer: evidence about the past.
  bool relayed = false;         ///< Another watcher has heard it and passed that on.
  bool by_broker = false;       ///< It came through a message broker, see BrokerLink.
};

/// One check of this watcher's own link.
struct UplinkResult {
  ReferenceIndex reference;
  bool answered = false;
};

/// Whether the message broker answers this watcher. While it does not, whoever checks in through it
/// cannot be heard, and that is nobody's silence. Fed at each proof; the first one (at the start,
/// `answers` false) says that there is a broker at all.
struct BrokerLink {
  bool answers = false;
};

/// This watcher's process began to listen. Time before it was not watched.
struct WatcherStarted {};
/// This watcher's process is about to stop in good order.
struct WatcherStopped {};
/// The loop was late, the machine was suspended or the clock was set: from `at - blind_for` to `at`
/// nobody was listening (a pure step of the wall clock has blind_for 0).
struct ClockJump {
  Span blind_for;
};
/// A sign that the watcher's process was running at this moment; also drives deadlines.
struct Tick {};

/// What a witness said that it last heard of a controller; `age` counts back from the event's time.
struct WitnessWord {
  WitnessIndex witness;
  ControllerIndex controller;
  std::optional<Span> age;  ///< Empty: never heard.
};
/// Whether a witness can be asked: it is running and its own link works.
struct WitnessReachable {
  WitnessIndex witness;
  bool reachable = false;
};

/// All that can be had of the witnesses' answers about this controller is in: who has not answered
/// abstains.
struct WitnessesHeardOut {
  ControllerIndex controller;
};

/// A person has taken the outage on, or that has run out while it lasts: told again.
struct Acknowledge {
  enum class Kind : std::uint8_t { taken_on, run_out };
  OutageId outage = 0;
  Kind kind = Kind::taken_on;
};

/// A person puts a subject away; replaces what was put away of the same subject and kind.
struct Shelve {
  Shelf shelf;
};
/// A person puts it back before its time, or in service. Without effect when it was not put away.
struct Unshelve {
  Subject subject;
  Shelf::Kind kind = Shelf::Kind::shelved;
};

struct Event {
  Instant at;
  std::variant<Tick, CheckIn, UplinkResult, BrokerLink, WatcherStarted, WatcherStopped, ClockJump,
               WitnessWord, WitnessReachable, WitnessesHeardOut, Acknowledge, Shelve, Unshelve>
      what;
};

}  // namespace ebbwatch
