#include "store/condense.h"

#include <algorithm>
#include <array>
#include <limits>

#include "store/hour_sum.h"

namespace ebbwatch {
namespace {

constexpr int time_bits = 10;  ///< See history_tables.h.
constexpr int controller_bits = 24;
constexpr std::int64_t controller_mask = (std::int64_t{1} << controller_bits) - 1;
/// A gap that began longer ago than this is an outage, and in the record as such.
constexpr int looked_back_hours = 72;

enum Which : std::size_t {
  oldest_check_ins,
  drop_check_ins,
  get_hour,
  put_hour,
  get_hours,
  any_hour_before,
  any_check_in_before,
  changed,
  drop_uplink_rows,
  // What goes with the oldest part of the record, in this order.
  drop_attempts,
  drop_notices,
  drop_calls,
  drop_links,
  drop_decisions,
  drop_outages,
  drop_drills,
  drop_hours,
  statement_count,
};

#define OLD_OUTAGES "(SELECT id FROM outages WHERE closed = 1 AND confirmed_at < ?1)"

constexpr std::array<const char*, statement_count> statement_texts = {
    "SELECT id, controller, flags, readings FROM check_ins WHERE id < ?1 ORDER BY id LIMIT ?2",
    "DELETE FROM check_ins WHERE id <= ?1",
    "SELECT heard, buffered, on_battery, first, last, longest_gap, readings FROM hours "
    "WHERE id = ?1",
    "INSERT OR REPLACE INTO hours VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
    "SELECT h.id, n.name, h.heard, h.buffered, h.on_battery, h.first, h.last, h.longest_gap, "
    "h.readings FROM hours h CROSS JOIN names n ON n.id = (h.id & 16777215) WHERE h.id >= ?1 AND "
    "h.id < ?2 AND (?3 = '' OR n.name = ?3) AND (?4 = '' OR n.name IN (SELECT value FROM "
    "json_each(?4))) ORDER BY h.id",
    "SELECT EXISTS(SELECT 1 FROM hours WHERE id < ?1 AND (id & 16777215) = "
    "(SELECT id FROM names WHERE name = ?2))",
    "SELECT EXISTS(SELECT 1 FROM check_ins WHERE id < ?1 AND controller = "
    "(SELECT id FROM names WHERE name = ?2))",
    "SELECT changes()",
    "DELETE FROM watcher_rows WHERE id IN (SELECT id FROM watcher_rows WHERE id < ?1 AND kind = 1 "
    "ORDER BY id LIMIT ?2)",
    "DELETE FROM attempts WHERE id IN (SELECT a.id FROM attempts a JOIN notices n USING(notice) "
    "WHERE n.outage IN " OLD_OUTAGES " OR (n.outage = 0 AND n.ended_at < ?1) LIMIT ?2)",
    "DELETE FROM notices WHERE notice IN (SELECT notice FROM notices WHERE outage IN " OLD_OUTAGES
    " OR (outage = 0 AND ended_at < ?1) LIMIT ?2)",
    "DELETE FROM calls WHERE outage IN (SELECT outage FROM calls WHERE outage IN " OLD_OUTAGES
    " LIMIT ?2)",
    "DELETE FROM links WHERE token_hash IN (SELECT token_hash FROM links WHERE outage "
    "IN " OLD_OUTAGES " LIMIT ?2)",
    "DELETE FROM decisions WHERE number IN (SELECT number FROM decisions WHERE at < ?1 AND "
    "outage NOT IN (SELECT id FROM outages WHERE closed = 0 OR confirmed_at >= ?1) LIMIT ?2)",
    "DELETE FROM outages WHERE id IN (SELECT id FROM outages WHERE closed = 1 AND "
    "confirmed_at < ?1 AND id < (SELECT max(id) FROM outages) LIMIT ?2)",
    "DELETE FROM drills WHERE outage IN (SELECT outage FROM drills WHERE closed = 1 AND "
    "started_at < ?1 AND outage < (SELECT max(outage) FROM drills) LIMIT ?2)",
    "DELETE FROM hours WHERE id IN (SELECT id FROM hours WHERE id < ?1 ORDER BY id LIMIT ?2)",
};

std::int64_t hours_since_epoch(WallTime time) {
  return hour_of(time).us / one_hour.us;
}

std::int64_t hour_id(WallTime time, std::int64_t controller) {
  return hours_since_epoch(time) << controller_bits | controller;
}

WallTime hour_time(std::int64_t id) {
  return {(id >> controller_bits) * one_hour.us};
}

/// First and last lie in the row as distances from the hour's beginning.
void to_times(HourRow& hour, const std::optional<std::int64_t>& first,
              const std::optional<std::int64_t>& last) {
  if (first) hour.first = hour.at + Span::of_us(*first);
  if (last) hour.last = hour.at + Span::of_us(*last);
}

std::string list_text(const std::vector<std::string>& names) {
  std::string out;
  for (const auto& name : names) out += (out.empty() ? "[\"" : ",\"") + name + "\"";
  return out.empty() ? out : out + "]";
}

}  // namespace

Result<Condenser> Condenser::prepare(Database& database) {
  std::vector<Statement> statements;
  for (const char* text : statement_texts) {
    auto statement = database.prepare(text);
    if (!statement) return statement.error();
    statements.push_back(std::move(statement.value()));
  }
  return Condenser(std::move(statements));
}

Result<bool> Condenser::step(const KeepLimits& limits, std::size_t rows_at_most) {
  // Whole hours, so that an hour is either raw or not, but for the one that is being taken.
  const WallTime until = hour_of(limits.check_ins_from);
  auto more = condense_check_ins(until, rows_at_most);
  if (!more || more.value()) return more;
  more = drop(drop_uplink_rows, until.us << time_bits, rows_at_most);
  if (!more || more.value() || !limits.record_from) return more;
  for (std::size_t which = drop_attempts; which <= drop_hours; ++which) {
    const std::int64_t limit =
        which == drop_hours ? hour_id(*limits.record_from, 0) : limits.record_from->us;
    more = drop(which, limit, rows_at_most);
    if (!more || more.value()) return more;
  }
  return false;
}

Result<bool> Condenser::drop(std::size_t which, std::int64_t limit, std::size_t rows_at_most) {
  const auto dropped = statement(which).with(limit, static_cast<std::int64_t>(rows_at_most)).run();
  if (!dropped) return dropped.error();
  const auto row = statement(changed).with().next();
  if (!row) return row.error();
  std::int64_t count = 0;
  statement(changed).into(count);
  statement(changed).reset();
  return count > 0;
}

Result<bool> Condenser::condense_check_ins(WallTime until, std::size_t rows_at_most) {
  auto& select = statement(oldest_check_ins)
                     .with(until.us << time_bits, static_cast<std::int64_t>(rows_at_most));
  std::vector<Old> rows;
  for (;;) {
    const auto more = select.next();
    if (!more) return more.error();
    if (!more.value()) break;
    auto& row = rows.emplace_back();
    select.into(row.id, row.controller, row.flags, row.readings);
  }
  if (rows.empty()) return false;
  auto done = add_up(rows);
  if (done.ok()) done = statement(drop_check_ins).with(rows.back().id).run();
  if (!done) return done.error();
  return true;
}

Result<void> Condenser::add_up(const std::vector<Old>& rows) {
  std::map<std::int64_t, HourRow> sums;
  for (const auto& old : rows) {
    CheckInRow row;
    row.at = {old.id >> time_bits};
    row.power = (old.flags & 3) == 2 ? "battery" : "";
    row.buffered = (old.flags & 4) != 0;
    row.readings_json = old.readings;
    const std::int64_t id = hour_id(row.at, old.controller & controller_mask);
    auto found = sums.find(id);
    if (found == sums.end()) {
      auto stored = stored_hour(id);
      if (!stored) return stored.error();
      found = sums.emplace(id, std::move(stored.value())).first;
    }
    const auto before = heard_last(old.controller, row.at);
    if (!before) return before.error();
    add_to(found->second, row, before.value());
    if (!row.buffered) heard_[old.controller] = row.at;
  }
  for (const auto& [id, hour] : sums) {
    const auto written = put(id, hour);
    if (!written) return written;
  }
  return {};
}

Result<std::optional<WallTime>> Condenser::heard_last(std::int64_t controller, WallTime before) {
  const auto known = heard_.find(controller);
  if (known != heard_.end()) return std::optional<WallTime>(known->second);
  for (int back = 0; back <= looked_back_hours; ++back) {
    const auto hour = stored_hour(hour_id(before - one_hour * back, controller & controller_mask));
    if (!hour) return hour.error();
    if (!hour.value().last) continue;
    return std::optional<WallTime>(heard_[controller] = *hour.value().last);
  }
  return std::optional<WallTime>();
}

Result<HourRow> Condenser::stored_hour(std::int64_t id) {
  HourRow hour;
  hour.at = hour_time(id);
  auto& query = statement(get_hour).with(id);
  const auto there = query.next();
  if (!there) return there.error();
  if (!there.value()) return hour;
  std::optional<std::int64_t> first, last;
  std::string readings;
  query.into(hour.heard, hour.buffered, hour.on_battery, first, last, hour.longest_gap, readings);
  query.reset();
  to_times(hour, first, last);
  hour.readings = readings_from_text(readings);
  return hour;
}

Result<void> Condenser::put(std::int64_t id, const HourRow& hour) {
  const auto distance = [&hour](const std::optional<WallTime>& time) {
    return time ? std::optional<std::int64_t>((*time - hour.at).us) : std::nullopt;
  };
  const std::string readings = readings_to_text(hour.readings);
  return statement(put_hour)
      .with(id, hour.heard, hour.buffered, hour.on_battery, distance(hour.first),
            distance(hour.last), hour.longest_gap,
            readings.empty() ? std::optional<std::string>() : readings)
      .run();
}

Result<void> Condenser::for_each_hour(const HistoryQuery& query,
                                      const std::function<bool(const HourRow&)>& visit) {
  constexpr auto most = std::numeric_limits<std::int64_t>::max();
  const std::int64_t from = query.from ? hour_id(*query.from, 0) : -most;
  const std::int64_t until =
      query.until ? hour_id(*query.until + one_hour - Span::of_us(1), 0) : most;
  auto& rows = statement(get_hours).with(from, until, query.subject, list_text(query.any_of));
  for (;;) {
    const auto more = rows.next();
    if (!more) return more.error();
    if (!more.value()) return {};
    HourRow hour;
    std::int64_t id = 0;
    std::optional<std::int64_t> first, last;
    std::string readings;
    rows.into(id, hour.controller, hour.heard, hour.buffered, hour.on_battery, first, last,
              hour.longest_gap, readings);
    hour.at = hour_time(id);
    to_times(hour, first, last);
    hour.readings = readings_from_text(readings);
    if (!visit(hour)) break;
  }
  rows.reset();
  return {};
}

Result<bool> Condenser::heard_before(const std::string& controller, WallTime time) {
  const std::pair<Which, std::int64_t> questions[] = {{any_hour_before, hour_id(time, 0)},
                                                      {any_check_in_before, time.us << time_bits}};
  for (const auto& [which, limit] : questions) {
    auto& query = statement(which).with(limit, controller);
    const auto row = query.next();
    if (!row) return row.error();
    bool found = false;
    query.into(found);
    query.reset();
    if (found) return true;
  }
  return false;
}

}  // namespace ebbwatch
