#include <utility>

#include "store/history_tables.h"

namespace ebbwatch {
namespace {

// One side of the merge: the next row, until its table is read to the end.
template <class Row>
struct Side {
  Row row;
  bool present = false;
};

}  // namespace

Result<void> HistoryTables::for_each_heard(const HistoryQuery& query,
                                           const std::function<bool(const HeardRow&)>& visit) {
  HistoryQuery of_watcher = query;
  of_watcher.subject.clear();
  for (const auto& selected : {select_check_ins(query), select_watcher_rows(of_watcher)})
    if (!selected) return selected;
  Side<CheckInRow> heard;
  Side<WatcherRow> watcher;
  const auto advance_heard = [&] { return next_check_in(heard.row); };
  const auto advance_watcher = [&] { return next_watcher_row(watcher.row); };
  const auto refill = [](auto& side, const auto& advance) -> Result<void> {
    const auto more = advance();
    if (!more) return more.error();
    side.present = more.value();
    return {};
  };
  auto read = refill(heard, advance_heard);
  if (read.ok()) read = refill(watcher, advance_watcher);
  while (read.ok() && (heard.present || watcher.present)) {
    const bool take_watcher = watcher.present && (!heard.present || watcher.row.at <= heard.row.at);
    const bool go_on = take_watcher ? visit(HeardRow(watcher.row)) : visit(HeardRow(heard.row));
    if (!go_on) break;
    read = take_watcher ? refill(watcher, advance_watcher) : refill(heard, advance_heard);
  }
  check_ins_.reset();
  watcher_rows_.reset();
  return read;
}

}  // namespace ebbwatch
