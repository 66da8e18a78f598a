#include "store/state_tables.h"

#include <algorithm>
#include <array>
#include <limits>

namespace ebbwatch {
namespace {

// Positions in the list of statements below.
enum Which : std::size_t {
  put_controller,
  put_outage,
  add_decision,
  put_notice,
  add_attempt,
  put_call,
  put_fact,
  get_facts,
  get_shared,
  get_controllers,
  get_outages,
  get_notices,
  get_calls,
  get_decisions,
  get_notices_of,
  get_attempts_of,
  get_call_of,
  get_newest,
  statement_count,
};

#define NOTICE_COLUMNS                                                       \
  "notice, outage, kind, keyholder, notifier, state, attempts, created_at, " \
  "next_attempt_at, ended_at, last_answer, message_json"

constexpr std::array<const char*, statement_count> statement_texts = {
    "INSERT OR REPLACE INTO controllers VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, "
    "?12, ?13, ?14, ?15, ?16, ?17, ?18, ?19, ?20, ?21)",
    "INSERT OR REPLACE INTO outages VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
    "INSERT INTO decisions(at, kind, scope, subject, outage, json) VALUES(?1, ?2, ?3, ?4, ?5, ?6)",
    "INSERT OR REPLACE INTO notices(" NOTICE_COLUMNS
    ") VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)",
    "INSERT INTO attempts(notice, number, at, outcome, answer) VALUES(?1, ?2, ?3, ?4, ?5)",
    "INSERT OR REPLACE INTO calls VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)",
    "INSERT OR REPLACE INTO facts(name, value) VALUES(?1, ?2)",
    // An identifier of an outage is never used twice, even if the fact about the next one was lost.
    "SELECT max(coalesce((SELECT value FROM facts WHERE name = 'next_outage'), 1), "
    "coalesce((SELECT max(id) + 1 FROM outages), 1), "
    "coalesce((SELECT max(outage) + 1 FROM drills), 1)), "
    "coalesce((SELECT value FROM facts WHERE name = 'stopped_in_good_order'), 0)",
    "SELECT name, value FROM facts WHERE name LIKE 'shared/%' ORDER BY name",
    "SELECT * FROM controllers ORDER BY controller",
    "SELECT * FROM outages WHERE closed = 0 ORDER BY id",
    "SELECT " NOTICE_COLUMNS
    " FROM notices WHERE state = 'waiting' OR "
    "outage IN (SELECT id FROM outages WHERE closed = 0) OR "
    "outage IN (SELECT outage FROM readings WHERE outage != 0) ORDER BY created_at, notice",
    "SELECT * FROM calls WHERE closed = 0 ORDER BY outage",
    "SELECT number, at, kind, scope, subject, outage, json FROM decisions WHERE at >= ?1 AND "
    "at < ?2 AND (?3 = '' OR subject = ?3) AND (?5 = 0 OR outage = ?5) "
    "ORDER BY at DESC, number DESC LIMIT ?4",
    "SELECT " NOTICE_COLUMNS " FROM notices WHERE outage = ?1 ORDER BY created_at, notice",
    "SELECT notice, number, at, outcome, answer FROM attempts WHERE notice = ?1 ORDER BY id",
    "SELECT * FROM calls WHERE outage = ?1",
    // Moments at which this watcher surely ran; planned moments (next_attempt_at, next_at) are not.
    "SELECT max(t) FROM (SELECT max(at) AS t FROM decisions UNION ALL "
    "SELECT max(at) FROM attempts UNION ALL SELECT max(max(created_at, coalesce(ended_at, "
    "created_at))) FROM notices UNION ALL SELECT max(max(contact_since, power_at, "
    "coalesce(last_heard, contact_since))) FROM controllers UNION ALL "
    "SELECT max(confirmed_at) FROM outages UNION ALL SELECT max(started_at) FROM calls)",
};

#undef NOTICE_COLUMNS

void read_row(const Statement& from, ControllerRow& row) {
  from.into(row.controller, row.contact, row.last_heard, row.contact_since, row.interval, row.seq,
            row.uptime_s, row.power, row.power_at, row.outage, row.planned_until, row.sent,
            row.lost, row.error, row.figure, row.figure_at, row.unsteady, row.standing,
            row.standing_scope, row.datagram_at, row.by_broker);
}

void read_row(const Statement& from, FactRow& row) {
  from.into(row.name, row.value);
}

void read_row(const Statement& from, OutageRow& row) {
  from.into(row.id, row.scope, row.subject, row.since, row.confirmed_at, row.cause, row.confidence,
            row.alarm, row.told, row.closed);
}

void read_row(const Statement& from, DecisionRow& row) {
  from.into(row.number, row.at, row.kind, row.scope, row.subject, row.outage, row.json);
}

void read_row(const Statement& from, NoticeRow& row) {
  from.into(row.notice, row.outage, row.kind, row.keyholder, row.notifier, row.state, row.attempts,
            row.created_at, row.next_attempt_at, row.ended_at, row.last_answer, row.message_json);
}

void read_row(const Statement& from, AttemptRow& row) {
  from.into(row.notice, row.number, row.at, row.outcome, row.answer);
}

void read_row(const Statement& from, CallRow& row) {
  from.into(row.outage, row.call_list, row.next_step, row.repeats, row.next_at, row.started_at,
            row.acknowledged, row.acknowledged_by, row.closed, row.acknowledged_at,
            row.acknowledged_until, row.resumptions);
}

template <class Row>
Result<std::vector<Row>> all_rows(Statement& bound) {
  std::vector<Row> rows;
  for (;;) {
    const auto more = bound.next();
    if (!more) return more.error();
    if (!more.value()) return rows;
    read_row(bound, rows.emplace_back());
  }
}

template <class Row>
Result<void> fill(std::vector<Row>& target, Statement& bound) {
  auto rows = all_rows<Row>(bound);
  if (!rows) return rows.error();
  target = std::move(rows.value());
  return {};
}

}  // namespace

Result<StateTables> StateTables::prepare(Database& database) {
  std::vector<Statement> statements;
  for (const char* text : statement_texts) {
    auto statement = database.prepare(text);
    if (!statement) return statement.error();
    statements.push_back(std::move(statement.value()));
  }
  return StateTables(std::move(statements));
}

Result<void> StateTables::put(const ControllerRow& row) {
  return statement(put_controller)
      .with(row.controller, row.contact, row.last_heard, row.contact_since, row.interval, row.seq,
            row.uptime_s, row.power, row.power_at, row.outage, row.planned_until, row.sent,
            row.lost, row.error, row.figure, row.figure_at, row.unsteady, row.standing,
            row.standing_scope, row.datagram_at, row.by_broker)
      .run();
}

Result<void> StateTables::put(const OutageRow& row) {
  return statement(put_outage)
      .with(row.id, row.scope, row.subject, row.since, row.confirmed_at, row.cause, row.confidence,
            row.alarm, row.told, row.closed)
      .run();
}

Result<void> StateTables::add(const DecisionRow& row) {
  return statement(add_decision)
      .with(row.at, row.kind, row.scope, row.subject, row.outage, row.json)
      .run();
}

Result<void> StateTables::put(const NoticeRow& row) {
  return statement(put_notice)
      .with(row.notice, row.outage, row.kind, row.keyholder, row.notifier, row.state, row.attempts,
            row.created_at, row.next_attempt_at, row.ended_at, row.last_answer, row.message_json)
      .run();
}

Result<void> StateTables::add(const AttemptRow& row) {
  return statement(add_attempt).with(row.notice, row.number, row.at, row.outcome, row.answer).run();
}

Result<void> StateTables::put(const CallRow& row) {
  return statement(put_call)
      .with(row.outage, row.call_list, row.next_step, row.repeats, row.next_at, row.started_at,
            row.acknowledged, row.acknowledged_by, row.closed, row.acknowledged_at,
            row.acknowledged_until, row.resumptions)
      .run();
}

Result<void> StateTables::put(const FactRow& row) {
  return statement(put_fact).with(row.name, row.value).run();
}

Result<void> StateTables::put_next_outage(std::uint64_t next_outage) {
  return statement(put_fact).with("next_outage", next_outage).run();
}

Result<void> StateTables::put_stopped_in_good_order(bool stopped) {
  return statement(put_fact).with("stopped_in_good_order", stopped).run();
}

Result<StoredState> StateTables::load() {
  StoredState state;
  const auto facts = statement(get_facts).with().next();
  if (!facts) return facts.error();
  statement(get_facts).into(state.next_outage, state.stopped_in_good_order);
  statement(get_facts).reset();
  const auto newest = statement(get_newest).with().next();
  if (!newest) return newest.error();
  statement(get_newest).into(state.last_written);
  statement(get_newest).reset();
  auto read = fill(state.controllers, statement(get_controllers).with());
  if (read.ok()) read = fill(state.outages, statement(get_outages).with());
  if (read.ok()) read = fill(state.notices, statement(get_notices).with());
  if (read.ok()) read = fill(state.calls, statement(get_calls).with());
  if (read.ok()) read = fill(state.facts, statement(get_shared).with());
  if (!read) return read.error();
  return state;
}

Result<std::vector<DecisionRow>> StateTables::decisions(const HistoryQuery& query) {
  constexpr auto far = std::numeric_limits<std::int64_t>::max();
  const std::int64_t from = query.from ? query.from->us : -far;
  const std::int64_t until = query.until ? query.until->us : far;
  const auto limit = query.newest == 0
                         ? std::int64_t{-1}
                         : static_cast<std::int64_t>(std::min<std::size_t>(query.newest, far));
  auto rows = all_rows<DecisionRow>(
      statement(get_decisions).with(from, until, query.subject, limit, query.outage));
  if (rows.ok()) std::reverse(rows.value().begin(), rows.value().end());
  return rows;
}

Result<std::vector<NoticeRow>> StateTables::notices_of(std::uint64_t outage) {
  return all_rows<NoticeRow>(statement(get_notices_of).with(outage));
}

Result<std::vector<AttemptRow>> StateTables::attempts_of(const std::string& notice) {
  return all_rows<AttemptRow>(statement(get_attempts_of).with(notice));
}

Result<std::optional<CallRow>> StateTables::call_of(std::uint64_t outage) {
  auto rows = all_rows<CallRow>(statement(get_call_of).with(outage));
  if (!rows) return rows.error();
  if (rows.value().empty()) return std::optional<CallRow>();
  return std::optional<CallRow>(std::move(rows.value().front()));
}

}  // namespace ebbwatch
