#include "store/history_tables.h"

#include <algorithm>
#include <limits>
#include <utility>

namespace ebbwatch {
namespace {

constexpr int count_bits = 10;
constexpr std::int64_t rows_per_microsecond = std::int64_t{1} << count_bits;
constexpr std::int64_t time_us_limit = std::int64_t{1} << (63 - count_bits);

constexpr std::int64_t buffered_flag = 4;
constexpr std::int64_t power_mask = 3;
constexpr int relayer_shift = 3;
constexpr const char* power_words[] = {"", "mains", "battery"};
constexpr const char* kind_words[] = {"", "uplink", "start", "stop"};

constexpr std::int64_t first_id(WallTime at) {
  return std::clamp(at.us, -time_us_limit, time_us_limit - 1) * rows_per_microsecond;
}

constexpr WallTime time_of(std::int64_t id) {
  return {id >> count_bits};
}

template <std::size_t Count>
std::optional<std::int64_t> code_of(const char* const (&words)[Count], const std::string& word) {
  for (std::size_t i = 0; i < Count; ++i)
    if (word == words[i]) return static_cast<std::int64_t>(i);
  return std::nullopt;
}

template <std::size_t Count>
const char* word_of(const char* const (&words)[Count], std::int64_t code) {
  const auto position = static_cast<std::size_t>(code);
  return position < Count ? words[position] : "";
}

Error bad_row(const std::string& what) {
  return {Errc::bad_input, "A row of history cannot be stored: " + what + "."};
}

std::optional<std::string> given(const std::string& text) {
  if (text.empty()) return std::nullopt;
  return text;
}

std::string newest_in_sql(const std::string& table) {
  return "SELECT max(id) FROM " + table + " WHERE id >= ?1 AND id < ?2";
}

/// The first free id at or after the beginning of the microsecond; a full one gives the next.
Result<std::int64_t> free_id(Statement& newest_in, WallTime at) {
  if (at.us < -time_us_limit || at.us >= time_us_limit) return bad_row("its time is out of range");
  for (std::int64_t first = first_id(at);; first += rows_per_microsecond) {
    const std::int64_t end = first + rows_per_microsecond;
    const auto row = newest_in.with(first, end).next();
    if (!row) return row.error();
    std::optional<std::int64_t> newest;
    newest_in.into(newest);
    newest_in.reset();
    if (!newest) return first;
    if (*newest + 1 < end) return *newest + 1;
  }
}

}  // namespace

Result<HistoryTables> HistoryTables::prepare(Database& database) {
  auto names = Names::prepare(database);
  if (!names) return names.error();
  const std::string range = " WHERE h.id >= ?1 AND h.id < ?2";
  const std::string of_subject = " AND (?3 = '' OR n.name = ?3)";
  // Numbers are compared before names are looked up: most rows of a long stretch are others'.
  const std::string of_controllers =
      " AND (?3 IS NULL OR h.controller = ?3) AND (?4 = '' OR h.controller IN (SELECT n.id FROM "
      "json_each(?4) j JOIN names n ON n.name = j.value))";
  // CROSS JOIN keeps history outside, so that rows come in the order of the disk.
  const std::string check_ins = " FROM check_ins h CROSS JOIN names n ON n.id = h.controller";
  const std::string watcher = " FROM watcher_rows h LEFT JOIN names n ON n.id = h.subject";
  const std::string nth = " ORDER BY h.id DESC LIMIT 1 OFFSET ?4";
  const std::string sqls[] = {
      newest_in_sql("check_ins"),
      newest_in_sql("watcher_rows"),
      "INSERT INTO check_ins VALUES(?1, ?2, ?3, ?4, ?5, ?6)",
      "INSERT INTO watcher_rows VALUES(?1, ?2, ?3, ?4)",
      "SELECT h.id, n.name, h.seq, h.uptime_s, h.flags, h.readings, r.name" + check_ins +
          " LEFT JOIN names r ON r.id = h.flags >> " + std::to_string(relayer_shift) + range +
          of_controllers + " ORDER BY h.id",
      "SELECT h.id, h.kind, n.name, h.ok" + watcher + range + of_subject + " ORDER BY h.id",
      "SELECT h.id" + check_ins + range + of_subject + nth,
      "SELECT h.id" + watcher + range + of_subject + nth,
      "SELECT max(coalesce((SELECT max(id) FROM check_ins), (SELECT max(id) FROM watcher_rows)), "
      "coalesce((SELECT max(id) FROM watcher_rows), (SELECT max(id) FROM check_ins)))",
  };
  std::vector<Statement> statements;
  for (const auto& sql : sqls) {
    auto statement = database.prepare(sql);
    if (!statement) return statement.error();
    statements.push_back(std::move(statement.value()));
  }
  return HistoryTables(std::move(names.value()), std::move(statements));
}

HistoryTables::HistoryTables(Names names, std::vector<Statement> statements)
    : names_(std::move(names)),
      newest_check_in_in_(std::move(statements[0])),
      newest_watcher_row_in_(std::move(statements[1])),
      add_check_in_(std::move(statements[2])),
      add_watcher_row_(std::move(statements[3])),
      check_ins_(std::move(statements[4])),
      watcher_rows_(std::move(statements[5])),
      nth_newest_check_in_(std::move(statements[6])),
      nth_newest_watcher_row_(std::move(statements[7])),
      newest_(std::move(statements[8])) {}

Result<void> HistoryTables::add(const CheckInRow& row) {
  const auto power = code_of(power_words, row.power);
  if (!power) return bad_row("power \"" + row.power + "\" is not mains, battery or empty");
  const auto controller = names_.number_of(row.controller);
  if (!controller) return controller.error();
  std::int64_t flags = *power | (row.buffered ? buffered_flag : 0);
  if (!row.relayed_by.empty()) {
    const auto relayer = names_.number_of(row.relayed_by);
    if (!relayer) return relayer.error();
    flags |= relayer.value() << relayer_shift;
  }
  const auto id = free_id(newest_check_in_in_, row.at);
  if (!id) return id.error();
  return add_check_in_
      .with(id.value(), controller.value(), row.seq, row.uptime_s, flags, given(row.readings_json))
      .run();
}

Result<void> HistoryTables::add(const WatcherRow& row) {
  const auto kind = code_of(kind_words, row.kind);
  if (!kind || *kind == 0) return bad_row("kind \"" + row.kind + "\" is not uplink, start or stop");
  std::optional<std::int64_t> subject;
  if (!row.subject.empty()) {
    const auto number = names_.number_of(row.subject);
    if (!number) return number.error();
    subject = number.value();
  }
  const auto id = free_id(newest_watcher_row_in_, row.at);
  if (!id) return id.error();
  return add_watcher_row_.with(id.value(), *kind, subject, row.ok).run();
}

Result<std::int64_t> HistoryTables::lower_bound(Statement& nth_newest, const HistoryQuery& query) {
  const std::int64_t from =
      query.from ? first_id(*query.from) : std::numeric_limits<std::int64_t>::min();
  if (query.newest == 0) return from;
  const std::int64_t until =
      query.until ? first_id(*query.until) : std::numeric_limits<std::int64_t>::max();
  const auto skip = static_cast<std::int64_t>(
      std::min<std::size_t>(query.newest - 1, std::numeric_limits<std::int64_t>::max()));
  const auto row = nth_newest.with(from, until, query.subject, skip).next();
  if (!row) return row.error();
  if (!row.value()) return from;
  std::int64_t id = 0;
  nth_newest.into(id);
  nth_newest.reset();
  return id;
}

Result<void> HistoryTables::select_check_ins(const HistoryQuery& query) {
  const auto from = lower_bound(nth_newest_check_in_, query);
  if (!from) return from.error();
  std::optional<std::int64_t> subject;
  if (!query.subject.empty()) {
    const auto number = names_.find(query.subject);
    if (!number) return number.error();
    subject = number.value().value_or(-1);
  }
  std::string any_of;
  for (const auto& name : query.any_of) any_of += (any_of.empty() ? "[\"" : ",\"") + name + "\"";
  if (!any_of.empty()) any_of += "]";
  check_ins_.with(from.value(),
                  query.until ? first_id(*query.until) : std::numeric_limits<std::int64_t>::max(),
                  subject, any_of);
  return {};
}

Result<void> HistoryTables::select_watcher_rows(const HistoryQuery& query) {
  const auto from = lower_bound(nth_newest_watcher_row_, query);
  if (!from) return from.error();
  watcher_rows_.with(
      from.value(), query.until ? first_id(*query.until) : std::numeric_limits<std::int64_t>::max(),
      query.subject);
  return {};
}

Result<bool> HistoryTables::next_check_in(CheckInRow& row) {
  const auto more = check_ins_.next();
  if (!more || !more.value()) return more;
  std::int64_t id = 0;
  std::int64_t flags = 0;
  check_ins_.into(id, row.controller, row.seq, row.uptime_s, flags, row.readings_json,
                  row.relayed_by);
  row.at = time_of(id);
  row.power = word_of(power_words, flags & power_mask);
  row.buffered = (flags & buffered_flag) != 0;
  return true;
}

Result<bool> HistoryTables::next_watcher_row(WatcherRow& row) {
  const auto more = watcher_rows_.next();
  if (!more || !more.value()) return more;
  std::int64_t id = 0;
  std::int64_t kind = 0;
  watcher_rows_.into(id, kind, row.subject, row.ok);
  row.at = time_of(id);
  row.kind = word_of(kind_words, kind);
  return true;
}

Result<void> HistoryTables::for_each_check_in(const HistoryQuery& query,
                                              const std::function<bool(const CheckInRow&)>& visit) {
  const auto selected = select_check_ins(query);
  if (!selected) return selected;
  CheckInRow row;
  for (;;) {
    const auto more = next_check_in(row);
    if (!more) return more.error();
    if (!more.value()) return {};
    if (!visit(row)) break;
  }
  check_ins_.reset();
  return {};
}

Result<void> HistoryTables::for_each_watcher_row(
    const HistoryQuery& query, const std::function<bool(const WatcherRow&)>& visit) {
  const auto selected = select_watcher_rows(query);
  if (!selected) return selected;
  WatcherRow row;
  for (;;) {
    const auto more = next_watcher_row(row);
    if (!more) return more.error();
    if (!more.value()) return {};
    if (!visit(row)) break;
  }
  watcher_rows_.reset();
  return {};
}

Result<std::optional<WallTime>> HistoryTables::newest() {
  const auto row = newest_.with().next();
  if (!row) return row.error();
  std::optional<std::int64_t> id;
  newest_.into(id);
  newest_.reset();
  if (!id) return std::optional<WallTime>();
  return std::optional<WallTime>(time_of(*id));
}

}  // namespace ebbwatch
