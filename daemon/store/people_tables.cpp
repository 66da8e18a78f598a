#include "store/people_tables.h"

#include <algorithm>
#include <array>
#include <limits>

namespace ebbwatch {
namespace {

// Positions in the list of statements below.
enum Which : std::size_t {
  put_shelf,
  end_shelf,
  put_link,
  put_proof,
  put_drill,
  put_stand_in,
  end_stand_in,
  put_reading,
  get_shelves,
  get_links,
  get_proofs,
  get_drills,
  get_stand_ins,
  get_readings,
  get_drills_in,
  statement_count,
};

constexpr std::array<const char*, statement_count> statement_texts = {
    "INSERT OR REPLACE INTO shelves VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7)",
    "DELETE FROM shelves WHERE scope = ?1 AND subject = ?2 AND kind = ?3",
    "INSERT OR REPLACE INTO links VALUES(?1, ?2, ?3, ?4, ?5, ?6)",
    "INSERT INTO proofs VALUES(?1, ?2, ?3, ?4) ON CONFLICT DO UPDATE SET "
    "delivered_at = coalesce(?3, delivered_at), answered_at = coalesce(?4, answered_at)",
    "INSERT OR REPLACE INTO drills VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7)",
    "INSERT OR REPLACE INTO stand_ins VALUES(?1, ?2, ?3, ?4, ?5)",
    "DELETE FROM stand_ins WHERE absent = ?1",
    "INSERT OR REPLACE INTO readings VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
    "SELECT scope, subject, kind, since, until, reason, by FROM shelves "
    "ORDER BY scope, subject, kind",
    "SELECT token_hash, outage, keyholder, made_at, used_at, notifier FROM (SELECT * FROM links "
    "ORDER BY made_at DESC, token_hash LIMIT 10000) ORDER BY made_at, token_hash",
    "SELECT keyholder, notifier, delivered_at, answered_at FROM proofs "
    "ORDER BY keyholder, notifier",
    "SELECT outage, started_at, site, by, told, answered, closed FROM drills WHERE closed = 0 OR "
    "outage IN (SELECT max(outage) FROM drills GROUP BY by) ORDER BY outage",
    "SELECT absent, stand_in, since, until, by FROM stand_ins ORDER BY absent",
    "SELECT controller, reading, state, since, bound, outage, told, taken, learnt FROM readings "
    "ORDER BY controller, reading",
    "SELECT outage, started_at, site, by, told, answered, closed FROM drills WHERE "
    "started_at >= ?1 AND started_at < ?2 AND (?3 = '' OR site = ?3) "
    "ORDER BY outage DESC LIMIT ?4",
};

/// Steps through the rows of a bound statement; `read` copies the columns of one.
template <class Row, class Read>
Result<void> fill(std::vector<Row>& rows, Statement& bound, const Read& read) {
  for (;;) {
    const auto more = bound.next();
    if (!more) return more.error();
    if (!more.value()) return {};
    read(rows.emplace_back());
  }
}

}  // namespace

Result<PeopleTables> PeopleTables::prepare(Database& database) {
  std::vector<Statement> statements;
  for (const char* text : statement_texts) {
    auto statement = database.prepare(text);
    if (!statement) return statement.error();
    statements.push_back(std::move(statement.value()));
  }
  return PeopleTables(std::move(statements));
}

Result<void> PeopleTables::put(const ShelfRow& row) {
  if (row.ended) return statement(end_shelf).with(row.scope, row.subject, row.kind).run();
  return statement(put_shelf)
      .with(row.scope, row.subject, row.kind, row.since, row.until, row.reason, row.by)
      .run();
}

Result<void> PeopleTables::put(const LinkRow& row) {
  return statement(put_link)
      .with(row.token_hash, row.outage, row.keyholder, row.made_at, row.used_at, row.notifier)
      .run();
}

Result<void> PeopleTables::put(const ProofRow& row) {
  return statement(put_proof)
      .with(row.keyholder, row.notifier, row.delivered_at, row.answered_at)
      .run();
}

Result<void> PeopleTables::put(const DrillRow& row) {
  return statement(put_drill)
      .with(row.outage, row.started_at, row.site, row.by, row.told, row.answered, row.closed)
      .run();
}

Result<void> PeopleTables::put(const StandInRow& row) {
  if (row.ended) return statement(end_stand_in).with(row.absent).run();
  return statement(put_stand_in).with(row.absent, row.stand_in, row.since, row.until, row.by).run();
}

Result<void> PeopleTables::put(const ReadingRow& row) {
  return statement(put_reading)
      .with(row.controller, row.reading, row.state, row.since, row.bound, row.outage, row.told,
            row.taken, row.learnt_json)
      .run();
}

Result<void> PeopleTables::load(StoredState& state) {
  auto& shelves = statement(get_shelves).with();
  auto read = fill(state.shelves, shelves, [&](ShelfRow& row) {
    shelves.into(row.scope, row.subject, row.kind, row.since, row.until, row.reason, row.by);
  });
  if (!read) return read;
  auto& links = statement(get_links).with();
  read = fill(state.links, links, [&](LinkRow& row) {
    links.into(row.token_hash, row.outage, row.keyholder, row.made_at, row.used_at, row.notifier);
  });
  if (!read) return read;
  auto& proofs = statement(get_proofs).with();
  read = fill(state.proofs, proofs, [&](ProofRow& row) {
    proofs.into(row.keyholder, row.notifier, row.delivered_at, row.answered_at);
  });
  if (!read) return read;
  auto& stand_ins = statement(get_stand_ins).with();
  read = fill(state.stand_ins, stand_ins, [&](StandInRow& row) {
    stand_ins.into(row.absent, row.stand_in, row.since, row.until, row.by);
  });
  if (!read) return read;
  auto& readings = statement(get_readings).with();
  read = fill(state.readings, readings, [&](ReadingRow& row) {
    readings.into(row.controller, row.reading, row.state, row.since, row.bound, row.outage,
                  row.told, row.taken, row.learnt_json);
  });
  if (!read) return read;
  auto& drills = statement(get_drills).with();
  return fill(state.drills, drills, [&](DrillRow& row) {
    drills.into(row.outage, row.started_at, row.site, row.by, row.told, row.answered, row.closed);
  });
}

Result<std::vector<DrillRow>> PeopleTables::drills(const HistoryQuery& query) {
  constexpr auto far = std::numeric_limits<std::int64_t>::max();
  const std::int64_t limit = query.newest == 0 ? -1 : static_cast<std::int64_t>(query.newest);
  auto& bound = statement(get_drills_in)
                    .with(query.from ? query.from->us : -far, query.until ? query.until->us : far,
                          query.subject, limit);
  std::vector<DrillRow> rows;
  const auto read = fill(rows, bound, [&](DrillRow& row) {
    bound.into(row.outage, row.started_at, row.site, row.by, row.told, row.answered, row.closed);
  });
  if (!read) return read.error();
  std::reverse(rows.begin(), rows.end());
  return rows;
}

}  // namespace ebbwatch
