// The board's pages about the record: history, alarm performance, drills. From stored rows to what
// the pages show. Pure but for the store that is given.
#pragma once

#include <vector>

#include "app/proof_book.h"
#include "board/view.h"
#include "core/result.h"
#include "ports/store.h"
#include "report/record.h"
#include "settings/settings.h"

namespace ebbwatch {

/// What to ask the store for a question as the form asks it; sets `complaint` when a day is none,
/// and `most`. Days are those of this machine's time zone. Subject, kind and words are looked for
/// by history_lines().
HistoryQuery history_query(HistoryView& view);
/// The lines that fit the question, newest first, at most `view.most`. @param rows oldest first.
std::vector<HistoryLine> history_lines(const Settings& settings,
                                       const std::vector<DecisionRow>& rows,
                                       const HistoryView& view, WallTime now);

/// Of the same rows those that fit, oldest first, for a file: all of them, whatever `view.most` is.
std::vector<DecisionRow> history_rows(const Settings& settings, std::vector<DecisionRow> rows,
                                      const HistoryView& view, WallTime now);

/// The record of the last `days`, for performance_view(). Errors: those of the store.
Result<report::Record> performance_record(Store& store, const Settings& settings, std::size_t days,
                                          WallTime now);
PerformanceView performance_view(const report::Record& record, std::size_t days);

DrillsView drills_view(const Settings& settings, const std::vector<WayProof>& ways,
                       const std::vector<DrillRow>& rows, WallTime now);

}  // namespace ebbwatch
