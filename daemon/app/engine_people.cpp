// The engine's part about people: who stands in for whom, and ways that were not proven for long.
#include <algorithm>

#include "app/engine.h"
#include "reporting/log.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

std::vector<std::string> lists_asking(const Settings& settings, const WayProof& way, WallTime now) {
  std::vector<std::string> lists;
  for (const CallListSettings& list : settings.call_lists) {
    const bool late =
        list.prove_every && (!way.proven_at || now - *way.proven_at > *list.prove_every);
    const auto calls = all_calls(settings, {list.id});
    const bool uses = std::any_of(calls.begin(), calls.end(), [&](const Call& call) {
      return call.keyholder == way.keyholder &&
             std::find(call.by.begin(), call.by.end(), way.notifier) != call.by.end();
    });
    if (late && uses) lists.push_back(list.id);
  }
  return lists;
}

}  // namespace

Result<StandInRow> Engine::stand_in(const StandInWish& wish) {
  const WallTime now = parts_.clock.wall_now();
  const auto checked = stand_ins_.check(wish, settings_, now);
  if (!checked) return checked.error();
  const StandInRow& row = checked.value();
  stand_ins_.put(row);
  dispatcher_.use(stand_ins_.rows());
  Batch batch;
  batch.stand_ins.push_back(row);
  batch.decisions.push_back(stand_in_act(row, "stand_in", now));
  parts_.committer.now(std::move(batch), [](bool) {});
  say(Level::info, "stand_in",
      row.stand_in + " stands in for " + row.absent + " until " + to_rfc3339(row.until) + ".");
  arm();
  return row;
}

Result<StandInRow> Engine::end_stand_in(const std::string& absent) {
  const auto row = stand_ins_.take(absent);
  if (!row) {
    return Error{Errc::not_found,
                 "Nobody stands in for '" + absent + "'. 'ebbwatch status' shows who does."};
  }
  dispatcher_.use(stand_ins_.rows());
  end_stand_ins({*row});
  return *row;
}

void Engine::end_stand_ins(const std::vector<StandInRow>& ended) {
  Batch batch;
  for (const StandInRow& row : ended) {
    batch.stand_ins.push_back(row);
    batch.decisions.push_back(stand_in_act(row, "stand_in_ended", parts_.clock.wall_now()));
    say(Level::info, "stand_in_ended", row.stand_in + " stands in for " + row.absent + " no more.");
  }
  if (!batch.empty()) parts_.committer.now(std::move(batch), [](bool) {});
}

void Engine::tend_people() {
  const WallTime now = parts_.clock.wall_now();
  if (const auto ended = stand_ins_.take_ended(now); !ended.empty()) {
    dispatcher_.use(stand_ins_.rows());
    end_stand_ins(ended);
  }
  if (looked_at_ways_ && now >= *looked_at_ways_ && now - *looked_at_ways_ < ways_looked_at_every) {
    return;
  }
  looked_at_ways_ = now;
  std::set<std::pair<std::string, std::string>> overdue;
  for (const WayProof& way : ways()) {
    if (!way.overdue) continue;
    overdue.insert({way.keyholder, way.notifier});
    if (told_unproven_.contains({way.keyholder, way.notifier})) continue;
    dispatcher_.unproven(way, lists_asking(settings_, way, now));
  }
  told_unproven_ = std::move(overdue);
}

}  // namespace ebbwatch
