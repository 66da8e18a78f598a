// What the daemon needs kept. Called on the store's thread only; a fake in memory stands beside the
// SQLite one for tests. Everything is text and wall time, so that a file outlives positions and
// processes.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "core/result.h"
#include "core/time.h"

namespace ebbwatch {

/// One accepted check-in for the history.
struct CheckInRow {
  WallTime at;
  std::string controller;
  std::optional<std::uint64_t> seq;
  std::optional<double> uptime_s;
  std::string power;  ///< "mains", "battery" or empty.
  bool buffered = false;
  std::string readings_json;  ///< Empty when none came.
  std::string relayed_by{};   ///< The watcher that heard it and passed that on; empty: we did.
};

/// One check of an uplink reference, or the start or stop of this process (trace kinds).
struct WatcherRow {
  WallTime at;
  std::string kind;     ///< "uplink", "start" or "stop"
  std::string subject;  ///< Reference; empty otherwise.
  bool ok = true;
};

/// What one hour of one controller came to: all that is kept of it once its raw check-ins are too
/// old.
struct HourRow {
  struct Reading {
    std::string name;  ///< "temperature_c", "watts.heater"
    std::uint64_t count = 0;
    double least = 0, mean = 0, most = 0;
  };
  WallTime at;  ///< Its beginning; hours are those of UTC.
  std::string controller;
  std::uint64_t heard = 0;              ///< Check-ins, those sent late not counted.
  std::uint64_t buffered = 0;           ///< Sent late.
  std::uint64_t on_battery = 0;         ///< Of all of them.
  std::optional<WallTime> first, last;  ///< Of those not sent late.
  /// The longest time between two of them of which the later lies in this hour; 0: not known.
  Span longest_gap;
  std::vector<Reading> readings{};  ///< By name.
};

/// From when on what is kept.
struct KeepLimits {
  WallTime check_ins_from;              ///< Older check-ins become hours.
  std::optional<WallTime> record_from;  ///< Older outages, notices and hours go; empty: never.
};

/// What must be known about one controller after a restart (ControllerRecord with wall times).
struct ControllerRow {
  std::string controller;
  std::string contact;
  std::optional<WallTime> last_heard;
  WallTime contact_since;
  Span interval;
  std::optional<std::uint64_t> seq;
  std::optional<double> uptime_s;
  std::string power;
  WallTime power_at;
  std::uint64_t outage = 0;
  std::optional<WallTime> planned_until;  ///< End of a stop that it announced.
  double sent = 0, lost = 0;  ///< Check-ins that came or were missed singly; older ones fade.
  Span error;                 ///< Mean distance from the expected arrival.
  double figure = 0;          ///< Figure of merit (RFC 2439) as of `figure_at`.
  WallTime figure_at;
  bool unsteady = false;
  std::uint64_t standing = 0;  ///< Its standing alarm as an unsteady source; 0: none.
  std::string standing_scope;
  /// The newest time that a datagram of it proved; older ones are replays also after a restart.
  std::optional<WallTime> datagram_at;
  bool by_broker = false;  ///< Its newest check-in came through the message broker.
};

struct OutageRow {
  std::uint64_t id = 0;
  std::string scope, subject;
  WallTime since, confirmed_at;
  std::string cause;
  double confidence = 0;
  std::string alarm;  ///< Alarm state in the glossary's words.
  bool told = true;
  bool closed = false;
};

struct DecisionRow {
  std::int64_t number = 0;  ///< Given by the store on commit, 1 and up.
  WallTime at;
  std::string kind, scope, subject;
  std::uint64_t outage = 0;
  std::string json;  ///< FORMATS section 5 with `at`.
};

/// One notice to one keyholder by one notifier: a row of the outbox.
struct NoticeRow {
  std::string notice;  ///< UUIDv7
  std::uint64_t outage = 0;
  std::string kind;  ///< Decision kind, or "drill".
  std::string keyholder, notifier;
  std::string state = "waiting";  ///< waiting, delivered, dead_letter, withdrawn
  std::uint32_t attempts = 0;
  WallTime created_at;
  WallTime next_attempt_at;
  std::optional<WallTime> ended_at;  ///< When it left `waiting`.
  std::string last_answer;
  std::string message_json;  ///< The Message, as notices/message_json.* writes it.
};

struct AttemptRow {
  std::string notice;
  std::uint32_t number = 0;
  WallTime at;
  std::string outcome;  ///< delivered, retry_later, rejected_forever, unknown
  std::string answer;
};

/// How far a call list has got for one outage.
struct CallRow {
  std::uint64_t outage = 0;
  std::string call_list;
  std::uint32_t next_step = 0;
  std::uint32_t repeats = 0;
  std::optional<WallTime> next_at;
  WallTime started_at;
  bool acknowledged = false;
  std::string acknowledged_by;
  bool closed = false;
  std::optional<WallTime> acknowledged_at, acknowledged_until;
  std::uint32_t resumptions = 0;  ///< How often an acknowledgement has run out.
};

/// What is put away, with the reason and the name that were given (core/shelf.h).
struct ShelfRow {
  std::string scope, subject;
  std::string kind;  ///< "shelved" or "out_of_service".
  WallTime since;
  std::optional<WallTime> until;  ///< Empty only for out of service.
  std::string reason, by;
  bool ended = false;  ///< Not put away any more: the row is taken out.
};

/// A link in a notice by which one person can take one outage on. Only a hash of it is kept.
struct LinkRow {
  std::string token_hash;  ///< SHA-256 of the token's bytes, in hex.
  std::uint64_t outage = 0;
  std::string keyholder;
  WallTime made_at;
  std::optional<WallTime> used_at;
  std::string notifier{};  ///< By which way it went; empty in rows of earlier versions.
};

/// When one way to one person was last proven. Empty times leave what is stored.
struct ProofRow {
  std::string keyholder, notifier;
  std::optional<WallTime> delivered_at, answered_at;
};

/// An exercise.
struct DrillRow {
  std::uint64_t outage = 0;  ///< Its number, of the same series as the outages'.
  WallTime started_at;
  std::string site;
  std::string by;        ///< Who began it: a name, or "call list everyday" when it came by itself.
  std::string told;      ///< Keyholders, separated by one blank.
  std::string answered;  ///< Those of them who have answered.
  bool closed = false;
};

/// Somebody is called in place of somebody else for a time.
struct StandInRow {
  std::string absent, stand_in;  ///< Keyholders.
  WallTime since, until;
  std::string by;      ///< Who said so.
  bool ended = false;  ///< Not any more: the row is taken out.
};

/// How one reading that has limits stands.
struct ReadingRow {
  std::string controller, reading;
  std::string state;  ///< word(ReadingState)
  WallTime since;     ///< Of that state.
  double bound = 0;
  std::uint64_t outage = 0;  ///< Of its alarm that runs; 0: none.
  bool told = false, taken = false;
  std::string learnt_json;  ///< What is usual for it, as app/reading_book.cpp writes it.
};

/// A number that must outlive the process, by name ("shared/place/elm-street").
struct FactRow {
  std::string name;
  std::int64_t value = 0;
};

/// Everything that belongs together: all of it is stored, or nothing is.
struct Batch {
  std::vector<CheckInRow> check_ins;
  std::vector<WatcherRow> watcher_rows;
  std::vector<ControllerRow> controllers;  ///< Replace by controller.
  std::vector<OutageRow> outages;          ///< Replace by id.
  std::vector<DecisionRow> decisions;      ///< Added; numbers are given.
  std::vector<NoticeRow> notices;          ///< Replace by notice.
  std::vector<AttemptRow> attempts;        ///< Added.
  std::vector<CallRow> calls;              ///< Replace by outage.
  std::vector<ShelfRow> shelves;           ///< Replace by scope, subject and kind.
  std::vector<LinkRow> links;              ///< Replace by hash.
  std::vector<ProofRow> proofs;            ///< Replace by keyholder and notifier.
  std::vector<DrillRow> drills;            ///< Replace by outage.
  std::vector<FactRow> facts;              ///< Replace by name.
  std::vector<StandInRow> stand_ins;       ///< Replace by who is absent.
  std::vector<ReadingRow> readings;        ///< Replace by controller and reading.
  std::optional<std::uint64_t> next_outage;
  bool empty() const {
    return check_ins.empty() && watcher_rows.empty() && controllers.empty() && outages.empty() &&
           decisions.empty() && notices.empty() && attempts.empty() && calls.empty() &&
           shelves.empty() && links.empty() && proofs.empty() && drills.empty() && facts.empty() &&
           stand_ins.empty() && readings.empty() && !next_outage;
  }
};

/// One row of what was heard, for a trace.
using HeardRow = std::variant<CheckInRow, WatcherRow>;

/// What a starting daemon reads.
struct StoredState {
  std::uint64_t next_outage = 1;
  std::vector<ControllerRow> controllers;
  std::vector<OutageRow> outages;  ///< Not closed.
  std::vector<NoticeRow> notices;  ///< Waiting, and all notices of outages that are not closed.
  std::vector<CallRow> calls;      ///< Not closed.
  std::vector<ShelfRow> shelves;
  std::vector<LinkRow> links;  ///< The newest 10,000, oldest first.
  std::vector<ProofRow> proofs;
  std::vector<DrillRow> drills;          ///< Not closed, and the newest one of each `by`.
  std::vector<FactRow> facts;            ///< Those whose name begins with "shared/".
  std::vector<StandInRow> stand_ins;     ///< By who is absent.
  std::vector<ReadingRow> readings;      ///< By controller and reading.
  std::optional<WallTime> last_written;  ///< The newest time of any row: nobody watched after it.
  bool stopped_in_good_order = false;    ///< The newest start/stop row is a stop.
};

struct HistoryQuery {
  std::optional<WallTime> from, until;  ///< from <= at < until
  std::size_t newest = 0;               ///< Only so many, the newest; 0: all.
  std::string subject;                  ///< Empty: all.
  std::uint64_t outage = 0;             ///< Chooses decisions only; 0: all.
  std::vector<std::string> any_of{};    ///< Check-ins of these controllers only; empty: all.
};

class Store {
 public:
  Store() = default;
  Store(const Store&) = delete;
  Store& operator=(const Store&) = delete;
  virtual ~Store() = default;

  /// @post on success everything is durable; on failure nothing of the batch is stored and the
  /// store can be used again. Errors: storage (full, read-only, broken), busy (locked by another
  /// program), bad_input (a row that no file can hold: an unknown power or kind, a time beyond year
  /// 2255). Two limits. A batch of only check-ins, uplink rows and controllers outlives this
  /// process at once, but a power cut may take the newest of them until the next other batch. And
  /// when the disk refused the sync itself, a crash right after it may bring the whole batch back,
  /// never a part of it.
  virtual Result<void> commit(const Batch& batch) = 0;
  virtual Result<StoredState> load() = 0;
  /// Oldest first.
  virtual Result<std::vector<DecisionRow>> decisions(const HistoryQuery& query) = 0;
  virtual Result<std::vector<CheckInRow>> check_ins(const HistoryQuery& query) = 0;
  virtual Result<std::vector<WatcherRow>> watcher_rows(const HistoryQuery& query) = 0;
  /// Check-ins and watcher rows together, oldest first (watcher rows first at the same
  /// microsecond), until the end or until `visit` gives false. `query.subject` chooses check-ins
  /// only. `visit` must not call the store. Memory does not grow with the number of rows in
  /// SQLite's implementation.
  virtual Result<void> for_each_heard(const HistoryQuery& query,
                                      const std::function<bool(const HeardRow&)>& visit) = 0;
  /// for_each_heard(), and before it the hours (by time, then controller) of what is not raw any
  /// more; all of one moment. An hour that only touches the stretch is visited, too.
  virtual Result<void> for_each_kept(const HistoryQuery& query,
                                     const std::function<bool(const HourRow&)>& on_hour,
                                     const std::function<bool(const HeardRow&)>& on_heard) {
    (void)on_hour;
    return for_each_heard(query, on_heard);
  }
  /// Whether the controller was heard before.
  virtual Result<bool> heard_before(const std::string& controller, WallTime time) {
    HistoryQuery query;
    query.subject = controller;
    query.until = time;
    query.newest = 1;
    const auto rows = check_ins(query);
    if (!rows) return rows.error();
    return !rows.value().empty();
  }
  /// One small step of making room: at most so many of the oldest rows that are older than the
  /// limits become hours, or go. All of a step is stored, or nothing. Stores that keep everything
  /// do nothing. @return whether there is more to do.
  virtual Result<bool> condense(const KeepLimits& limits, std::size_t rows_at_most) {
    (void)limits;
    (void)rows_at_most;
    return false;
  }
  virtual Result<std::vector<NoticeRow>> notices_of(std::uint64_t outage) = 0;
  virtual Result<std::vector<AttemptRow>> attempts_of(const std::string& notice) = 0;
  /// Exercises, oldest first; `query.subject` is a site.
  virtual Result<std::vector<DrillRow>> drills(const HistoryQuery& query) = 0;
  /// How far the call list got; empty when nobody was to be told. Closed ones too.
  virtual Result<std::optional<CallRow>> call_of(std::uint64_t outage) = 0;
};

/// The board's password of one role, kept as a scrypt hash (crypto/password_hash.h).
struct PasswordRow {
  std::string role;  ///< "viewer", "keyholder" or "host".
  std::string hash;
  WallTime made_at;
};
class PasswordStore {
 public:
  virtual ~PasswordStore() = default;
  virtual Result<std::vector<PasswordRow>> passwords() = 0;
  /// Replaces the role's password.
  virtual Result<void> set_password(const PasswordRow& row) = 0;
};

/// Controllers' keys, kept as hashes only. Read by the daemon at start and when `enrol` says so.
struct KeyRow {
  std::string controller;
  std::string key_hash;  ///< SHA-256 of the 32 key bytes, in hex (the key has 256 bits of chance).
  WallTime made_at;
  /// MacState of the key's text, in hex, for datagrams. Empty for keys that were made before the
  /// watcher could take datagrams.
  std::string mac_state{};
};
class KeyStore {
 public:
  virtual ~KeyStore() = default;
  virtual Result<std::vector<KeyRow>> keys() = 0;
  /// Replaces the controller's key. @return true when there was one before.
  virtual Result<bool> set_key(const KeyRow& row) = 0;
};

}  // namespace ebbwatch
