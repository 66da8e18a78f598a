#include "store/migrations.h"

#include <array>

namespace ebbwatch {
namespace {

// Step 1: what `ebbwatch enrol` needs.
constexpr const char* keys_step = R"(
CREATE TABLE keys(
  controller TEXT PRIMARY KEY,
  key_hash TEXT NOT NULL,
  made_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
)";

// Step 2: what must be known after a restart, and the outbox. Times are UTC microseconds since the
// Unix epoch, spans are microseconds.
constexpr const char* state_step = R"(
CREATE TABLE facts(name TEXT PRIMARY KEY, value INTEGER NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE controllers(
  controller TEXT PRIMARY KEY,
  contact TEXT NOT NULL,
  last_heard INTEGER,
  contact_since INTEGER NOT NULL,
  interval INTEGER NOT NULL,
  seq INTEGER,
  uptime_s REAL,
  power TEXT NOT NULL,
  power_at INTEGER NOT NULL,
  outage INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE outages(
  id INTEGER PRIMARY KEY,
  scope TEXT NOT NULL,
  subject TEXT NOT NULL,
  since INTEGER NOT NULL,
  confirmed_at INTEGER NOT NULL,
  cause TEXT NOT NULL,
  confidence REAL NOT NULL,
  alarm TEXT NOT NULL,
  told INTEGER NOT NULL,
  closed INTEGER NOT NULL
) STRICT;
CREATE INDEX outages_open ON outages(id) WHERE closed = 0;
CREATE TABLE decisions(
  number INTEGER PRIMARY KEY,
  at INTEGER NOT NULL,
  kind TEXT NOT NULL,
  scope TEXT NOT NULL,
  subject TEXT NOT NULL,
  outage INTEGER NOT NULL,
  json TEXT NOT NULL
) STRICT;
CREATE INDEX decisions_at ON decisions(at);
CREATE TABLE notices(
  notice TEXT PRIMARY KEY,
  outage INTEGER NOT NULL,
  kind TEXT NOT NULL,
  keyholder TEXT NOT NULL,
  notifier TEXT NOT NULL,
  state TEXT NOT NULL,
  attempts INTEGER NOT NULL,
  created_at INTEGER NOT NULL,
  next_attempt_at INTEGER NOT NULL,
  ended_at INTEGER,
  last_answer TEXT NOT NULL,
  message_json TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX notices_outage ON notices(outage);
CREATE INDEX notices_waiting ON notices(notice) WHERE state = 'waiting';
CREATE TABLE attempts(
  id INTEGER PRIMARY KEY,
  notice TEXT NOT NULL,
  number INTEGER NOT NULL,
  at INTEGER NOT NULL,
  outcome TEXT NOT NULL,
  answer TEXT NOT NULL
) STRICT;
CREATE INDEX attempts_notice ON attempts(notice);
CREATE TABLE calls(
  outage INTEGER PRIMARY KEY,
  call_list TEXT NOT NULL,
  next_step INTEGER NOT NULL,
  repeats INTEGER NOT NULL,
  next_at INTEGER,
  started_at INTEGER NOT NULL,
  acknowledged INTEGER NOT NULL,
  acknowledged_by TEXT NOT NULL,
  closed INTEGER NOT NULL
) STRICT;
)";

// Step 3: what was heard. See history_tables.h for the layout of a row.
constexpr const char* history_step = R"(
CREATE TABLE names(id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE) STRICT;
CREATE TABLE check_ins(
  id INTEGER PRIMARY KEY,
  controller INTEGER NOT NULL,
  seq INTEGER,
  uptime_s REAL,
  flags INTEGER NOT NULL,
  readings TEXT
) STRICT;
CREATE TABLE watcher_rows(
  id INTEGER PRIMARY KEY,
  kind INTEGER NOT NULL,
  subject INTEGER,
  ok INTEGER NOT NULL
) STRICT;
)";

// Step 4: what people put away, how they answer, and which ways to them are proven.
constexpr const char* people_step = R"(
ALTER TABLE controllers ADD COLUMN planned_until INTEGER;
CREATE TABLE shelves(
  scope TEXT NOT NULL,
  subject TEXT NOT NULL,
  kind TEXT NOT NULL,
  since INTEGER NOT NULL,
  until INTEGER,
  reason TEXT NOT NULL,
  by TEXT NOT NULL,
  PRIMARY KEY(scope, subject, kind)
) STRICT, WITHOUT ROWID;
CREATE TABLE links(
  token_hash TEXT PRIMARY KEY,
  outage INTEGER NOT NULL,
  keyholder TEXT NOT NULL,
  made_at INTEGER NOT NULL,
  used_at INTEGER
) STRICT, WITHOUT ROWID;
CREATE INDEX links_made_at ON links(made_at);
CREATE TABLE proofs(
  keyholder TEXT NOT NULL,
  notifier TEXT NOT NULL,
  delivered_at INTEGER,
  answered_at INTEGER,
  PRIMARY KEY(keyholder, notifier)
) STRICT, WITHOUT ROWID;
CREATE TABLE drills(
  outage INTEGER PRIMARY KEY,
  started_at INTEGER NOT NULL,
  site TEXT NOT NULL,
  by TEXT NOT NULL,
  told TEXT NOT NULL,
  answered TEXT NOT NULL,
  closed INTEGER NOT NULL
) STRICT;
)";

// Step 5: acknowledgements run out.
constexpr const char* run_out_step = R"(
ALTER TABLE calls ADD COLUMN acknowledged_at INTEGER;
ALTER TABLE calls ADD COLUMN acknowledged_until INTEGER;
ALTER TABLE calls ADD COLUMN resumptions INTEGER NOT NULL DEFAULT 0;
)";

// Step 6: the board's passwords, one a role.
constexpr const char* board_step = R"(
CREATE TABLE board_passwords(
  role TEXT PRIMARY KEY,
  hash TEXT NOT NULL,
  made_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX decisions_outage ON decisions(outage) WHERE outage != 0;
)";

// Step 7: what was learnt of a controller's link, and how steady it is.
constexpr const char* habit_step = R"(
ALTER TABLE controllers ADD COLUMN sent REAL NOT NULL DEFAULT 0;
ALTER TABLE controllers ADD COLUMN lost REAL NOT NULL DEFAULT 0;
ALTER TABLE controllers ADD COLUMN error INTEGER NOT NULL DEFAULT 0;
ALTER TABLE controllers ADD COLUMN figure REAL NOT NULL DEFAULT 0;
ALTER TABLE controllers ADD COLUMN figure_at INTEGER NOT NULL DEFAULT 0;
ALTER TABLE controllers ADD COLUMN unsteady INTEGER NOT NULL DEFAULT 0;
ALTER TABLE controllers ADD COLUMN standing INTEGER NOT NULL DEFAULT 0;
ALTER TABLE controllers ADD COLUMN standing_scope TEXT NOT NULL DEFAULT '';
)";

// Step 8: by which way a link went, so that an answer proves it.
constexpr const char* link_way_step = R"(
ALTER TABLE links ADD COLUMN notifier TEXT NOT NULL DEFAULT '';
)";

// Step 9: check-ins by datagram.
constexpr const char* datagram_step = R"(
ALTER TABLE keys ADD COLUMN mac_state TEXT NOT NULL DEFAULT '';
ALTER TABLE controllers ADD COLUMN datagram_at INTEGER;
)";

// Step 10: who checks in through the message broker.
constexpr const char* broker_step = R"(
ALTER TABLE controllers ADD COLUMN by_broker INTEGER NOT NULL DEFAULT 0;
)";

// Step 11: read-only addresses of the board.
constexpr const char* wall_step = R"(
CREATE TABLE wall_addresses(
  name TEXT PRIMARY KEY,
  key_hash TEXT NOT NULL UNIQUE,
  made_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
)";

// Step 12: who is called in place of whom.
constexpr const char* stand_in_step = R"(
CREATE TABLE stand_ins(
  absent TEXT PRIMARY KEY,
  stand_in TEXT NOT NULL,
  since INTEGER NOT NULL,
  until INTEGER NOT NULL,
  by TEXT NOT NULL
) STRICT, WITHOUT ROWID;
)";

// Step 13: what old check-ins came to. See condense.h for the layout of a row.
constexpr const char* hours_step = R"(
CREATE TABLE hours(
  id INTEGER PRIMARY KEY,
  heard INTEGER NOT NULL,
  buffered INTEGER NOT NULL,
  on_battery INTEGER NOT NULL,
  first INTEGER,
  last INTEGER,
  longest_gap INTEGER NOT NULL,
  readings TEXT
) STRICT;
)";

// Step 14: how readings stand that have limits.
constexpr const char* reading_step = R"(
CREATE TABLE readings(
  controller TEXT NOT NULL,
  reading TEXT NOT NULL,
  state TEXT NOT NULL,
  since INTEGER NOT NULL,
  bound REAL NOT NULL,
  outage INTEGER NOT NULL,
  told INTEGER NOT NULL,
  taken INTEGER NOT NULL,
  learnt TEXT NOT NULL,
  PRIMARY KEY(controller, reading)
) STRICT, WITHOUT ROWID;
)";

constexpr std::array<const char*, schema_version_newest> steps = {
    keys_step,  state_step,    history_step,  people_step,   run_out_step,
    board_step, habit_step,    link_way_step, datagram_step, broker_step,
    wall_step,  stand_in_step, hours_step,    reading_step};

Result<void> take_step(Database& database, int version) {
  auto transaction = Transaction::begin(database);
  if (!transaction) return transaction.error();
  // Another process may have taken this step while we waited for the lock.
  const auto present = database.number("PRAGMA user_version");
  if (!present) return present.error();
  if (present.value() >= version) return {};
  const std::string marks = "PRAGMA application_id = " + std::to_string(schema_application_id) +
                            "; PRAGMA user_version = " + std::to_string(version) + ";";
  const auto done = database.run(steps[static_cast<std::size_t>(version - 1)] + marks);
  if (!done) return done.error();
  return transaction.value().commit();
}

}  // namespace

Error newer_version_error(const std::string& path, std::int64_t version) {
  return {Errc::newer_version, "The database " + path +
                                   " was written by a later version of ebbwatch (its tables have "
                                   "version " +
                                   std::to_string(version) + ", this program knows up to " +
                                   std::to_string(schema_version_newest) +
                                   "). It was left as it is. Install the later "
                                   "version again, or name another state_dir."};
}

Result<void> migrate(Database& database, int version) {
  const auto present = database.number("PRAGMA user_version");
  if (!present) return present.error();
  if (present.value() > schema_version_newest)
    return newer_version_error(database.path(), present.value());
  for (int next = static_cast<int>(present.value()) + 1; next <= version; ++next) {
    const auto taken = take_step(database, next);
    if (!taken) return taken;
  }
  return {};
}

}  // namespace ebbwatch
