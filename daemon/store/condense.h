// Makes room: single check-ins that are old become one row an hour and controller, and, where an
// owner wishes so, the oldest part of the record goes. In small steps, so that no check-in waits.
//
//   hours.id = hours since the Unix epoch << 24 | number of the controller (names.h): the table
//   lies
//              in the order of time, and a stretch of time is one range
//   first, last, longest_gap   microseconds since the beginning of the hour, and microseconds
//   readings   see hour_sum.h
#pragma once

#include <functional>
#include <map>
#include <vector>

#include "ports/store.h"
#include "store/database.h"

namespace ebbwatch {

class Condenser {
 public:
  static Result<Condenser> prepare(Database& database);

  /// Takes at most so many check-ins, oldest first, and when there are none, other old rows.
  /// @pre inside a transaction. @return whether there is more.
  Result<bool> step(const KeepLimits& limits, std::size_t rows_at_most);
  /// To be called when the transaction failed.
  void forget() { heard_.clear(); }

  /// By time, then controller, until `visit` gives false; an hour that touches the stretch counts.
  Result<void> for_each_hour(const HistoryQuery& query,
                             const std::function<bool(const HourRow&)>& visit);
  Result<bool> heard_before(const std::string& controller, WallTime time);

 private:
  struct Old {
    std::int64_t id = 0, controller = 0, flags = 0;
    std::string readings;
  };
  explicit Condenser(std::vector<Statement> statements) : statements_(std::move(statements)) {}
  Statement& statement(std::size_t which) { return statements_[which]; }
  Result<bool> condense_check_ins(WallTime until, std::size_t rows_at_most);
  Result<void> add_up(const std::vector<Old>& rows);
  Result<HourRow> stored_hour(std::int64_t id);
  Result<void> put(std::int64_t id, const HourRow& hour);
  Result<std::optional<WallTime>> heard_last(std::int64_t controller, WallTime before);
  Result<bool> drop(std::size_t which, std::int64_t limit, std::size_t rows_at_most);

  std::vector<Statement> statements_;
  std::map<std::int64_t, WallTime>
      heard_;  ///< When each controller was heard last, of those condensed.
};

}  // namespace ebbwatch
