// The engine's part about what is put away: wishes of people into events, ends into history.
#include <algorithm>

#include "app/engine.h"
#include "app/rows.h"
#include "reporting/log.h"
#include "text/rfc3339.h"

namespace ebbwatch {

Result<ShelfRow> Engine::put_away(const ShelfWish& wish) {
  const Instant now = enter();
  const auto checked = shelf_book_.check(wish, plan_, parts_.clock.wall_now());
  if (!checked) return checked.error();
  const ShelfRow& row = checked.value();
  const Subject subject = find_subject(plan_, wish.subject).value();
  shelf_book_.put(row);
  feed({now, Shelve{to_shelf(row, subject, parts_.clock)}});
  Batch batch;
  batch.shelves.push_back(row);
  batch.decisions.push_back(act_row(row, row.kind.c_str(), row.by, row.since));
  add_changed_alarms(batch);
  // What was being told of it rests meanwhile.
  for (const auto& outage : batch.outages) {
    dispatcher_.rest(outage.id);
    const Instant until = row.until ? parts_.clock.to_instant(*row.until) : Instant::never();
    telling_.put_away(outage.id, until);
  }
  parts_.committer.now(std::move(batch), [](bool) {});
  say(Level::info, "put_away",
      row.scope + " " + row.subject +
          (row.until ? " was shelved until " + to_rfc3339(*row.until)
                     : " was taken out of service") +
          " by " + quoted(row.by) + ": " + quoted(row.reason) + ".");
  arm();
  return row;
}

Result<ShelfRow> Engine::put_back(const std::string& text, Shelf::Kind kind,
                                  const std::string& by) {
  const auto subject = find_subject(plan_, text);
  if (!subject) return subject.error();
  const Instant now = enter();
  const auto row =
      shelf_book_.take(word(subject.value().scope), subject_id(plan_, subject.value()), word(kind));
  if (!row) {
    const bool shelf = kind == Shelf::Kind::shelved;
    return Error{Errc::not_found, "'" + text + "' is not " +
                                      (shelf ? "shelved" : "out of service") +
                                      ". 'ebbwatch status' shows what is."};
  }
  feed({now, Unshelve{subject.value(), kind}});
  Batch batch;
  batch.shelves.push_back(*row);
  batch.decisions.push_back(act_row(*row, kind == Shelf::Kind::shelved ? "unshelved" : "in_service",
                                    by, parts_.clock.wall_now()));
  parts_.committer.now(std::move(batch), [](bool) {});
  say(Level::info, "put_back",
      row->scope + " " + row->subject +
          (kind == Shelf::Kind::shelved ? " was taken off the shelf" : " was put in service") +
          (by.empty() ? "." : " by " + quoted(by) + "."));
  arm();
  return *row;
}

void Engine::sweep_shelves() {
  Batch batch;
  const WallTime now = parts_.clock.wall_now();
  for (const auto& row : shelf_book_.take_ended(watch_->shelves(), plan_)) {
    batch.shelves.push_back(row);
    batch.decisions.push_back(
        act_row(row, "shelf_ended", row.by, std::min(row.until.value_or(now), now)));
    say(Level::info, "shelf_ended", row.scope + " " + row.subject + " is not shelved any more.");
  }
  if (!batch.empty()) parts_.committer.later(std::move(batch));
}

/// Rows of running outages whose alarm the newest event moved.
void Engine::add_changed_alarms(Batch& batch) {
  for (auto& [id, row] : outages_) {
    const OutageRecord* record = watch_->outage(id);
    if (record == nullptr || row.alarm == word(record->alarm)) continue;
    row = to_row(*record, plan_, parts_.clock);
    batch.outages.push_back(row);
  }
}

}  // namespace ebbwatch
