// What was heard: check-ins, uplink checks, starts and stops. By far the most rows, so the layout
// is made for adding at the end and for reading a stretch of time:
//
//   id        = time << 10 | n: microseconds since the Unix epoch, then a count for rows of the
//   same
//               microsecond. It is SQLite's rowid, so rows lie in time order on the disk, a row is
//               appended to the last page, and a stretch of time is one range: no index is written
//               on the way in, and no time column is needed.
//   controller  small number, see names.h
//   seq, uptime_s   NULL when not given; whole seconds take 1 to 4 bytes
//   flags     0..2: power not given, mains, battery; +4: buffered; +8 times the number of the
//             watcher that heard it and passed that on. Mains is 1, which SQLite stores in no byte.
//   readings  JSON text or NULL
//
// A usual row takes about 28 bytes of a page. Questions about one controller read the rows of all
// within the stretch of time: at 200 check-ins a minute a day is 288 000 rows, about 8 MB.
//
// watcher_rows likewise: kind 1 uplink, 2 start, 3 stop; subject a number of names.h or NULL.
#pragma once

#include <functional>

#include "ports/store.h"
#include "store/database.h"
#include "store/names.h"

namespace ebbwatch {

class HistoryTables {
 public:
  static Result<HistoryTables> prepare(Database& database);

  /// @pre inside a transaction. Errors: bad_input (a time beyond year 2255, an unknown power or
  /// kind), storage.
  Result<void> add(const CheckInRow& row);
  Result<void> add(const WatcherRow& row);
  /// To be called when the transaction failed.
  void forget() { names_.forget(); }

  /// Oldest first, until the end or until `visit` gives false. `visit` must not call the store.
  Result<void> for_each_check_in(const HistoryQuery& query,
                                 const std::function<bool(const CheckInRow&)>& visit);
  Result<void> for_each_watcher_row(const HistoryQuery& query,
                                    const std::function<bool(const WatcherRow&)>& visit);
  /// Both kinds merged by time; at the same microsecond watcher rows come first.
  Result<void> for_each_heard(const HistoryQuery& query,
                              const std::function<bool(const HeardRow&)>& visit);
  /// The newest time of a row of either table; empty when there is none.
  Result<std::optional<WallTime>> newest();

 private:
  HistoryTables(Names names, std::vector<Statement> statements);
  Result<bool> next_check_in(CheckInRow& row);
  Result<bool> next_watcher_row(WatcherRow& row);
  Result<void> select_check_ins(const HistoryQuery& query);
  Result<void> select_watcher_rows(const HistoryQuery& query);
  Result<std::int64_t> lower_bound(Statement& nth_newest, const HistoryQuery& query);

  Names names_;
  Statement newest_check_in_in_, newest_watcher_row_in_;
  Statement add_check_in_, add_watcher_row_;
  Statement check_ins_, watcher_rows_;
  Statement nth_newest_check_in_, nth_newest_watcher_row_;
  Statement newest_;
};

}  // namespace ebbwatch
