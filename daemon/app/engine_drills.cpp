// The engine's part about exercises and about what proves the ways to people.
#include <algorithm>
#include <boost/json/object.hpp>
#include <boost/json/serialize.hpp>

#include "app/engine.h"
#include "app/people.h"
#include "core/wording.h"
#include "reporting/log.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

// As DrillRow::by of exercises that come by themselves.
std::string schedule_of(const CallListSettings& list) {
  return "call list " + list.id;
}

std::string with_commas(const std::string& words) {
  std::string out;
  for (const auto& one : words_of(words)) out += (out.empty() ? "" : ", ") + one;
  return out;
}

DecisionRow drill_act(const DrillRow& row, const WatchPlan& plan, const char* act,
                      const std::string& by, WallTime at) {
  DecisionRow out;
  out.at = at;
  out.kind = act;
  out.scope = word(Scope::site);
  out.subject = row.site;
  out.outage = row.outage;
  out.json = boost::json::serialize(boost::json::object{{"at", to_rfc3339(at)},
                                                        {"decision", act},
                                                        {"scope", out.scope},
                                                        {"subject", row.site},
                                                        {"outage", outage_text(plan, row.outage)},
                                                        {"by", by},
                                                        {"told", with_commas(row.told)},
                                                        {"answered", with_commas(row.answered)}});
  return out;
}

}  // namespace

Result<DrillRow> Engine::drill(const DrillWish& wish) {
  const auto plan = plan_drill(settings_, wish);
  if (!plan) return plan.error();
  if (const auto clear = may_drill(); !clear) return clear.error();
  return begin_drill(plan.value(), wish.by);
}

Result<void> Engine::may_drill() const {
  for (const auto& [id, row] : outages_) {
    if (row.closed || !row.told) continue;
    return Error{Errc::busy, "The outage " + outage_text(plan_, id) +
                                 " is running. An exercise would only confuse now; start it when "
                                 "contact is back."};
  }
  for (const ReadingBook::Entry* alarm : readings_.alarms()) {
    if (!alarm->told) continue;
    return Error{Errc::busy, "The alarm " + outage_text(plan_, alarm->outage) + " of " +
                                 alarm->name +
                                 " is running. An exercise would only confuse now; "
                                 "start it when that is over."};
  }
  return {};
}

Result<DrillRow> Engine::begin_drill(const DrillPlan& plan, const std::string& by) {
  const Instant now = enter();
  DrillRow row;
  row.started_at = parts_.clock.to_wall(now);
  row.site = plan.site.id;
  row.by = by;
  for (const Call& call : plan.calls) row.told += (row.told.empty() ? "" : " ") + call.keyholder;
  row.outage = watch_->take_number();
  drills_.begin(row);
  const MadeUpLoss made = make_up_loss(settings_, plan.site, row.outage, row.started_at);
  Batch batch;
  batch.drills.push_back(row);
  batch.decisions.push_back(drill_act(row, plan_, "drill", by, row.started_at));
  const auto ticket = dispatcher_.drill(made, plan.calls, batch);
  parts_.committer.now(std::move(batch), [this, ticket](bool) { dispatcher_.release(ticket); });
  say(Level::info, "drill_begun",
      "Exercise " + outage_text(plan_, row.outage) + " at " + row.site + " to " +
          with_commas(row.told) + ", begun by " + quoted(by) + ".");
  arm();
  return row;
}

Result<void> Engine::answer_drill(OutageId number, const Acknowledgement& given) {
  const DrillRow before = *drills_.open(number);
  const auto row = drills_.answered(number, keyholder_called(settings_, given.by));
  if (!row) {
    return Error{Errc::not_found, "The exercise " + outage_text(plan_, number) +
                                      " did not go to '" + given.by + "' but to " +
                                      with_commas(before.told) + "."};
  }
  Batch batch;
  batch.drills.push_back(*row);
  batch.decisions.push_back(
      drill_act(*row, plan_, "drill_answered", given.by, parts_.clock.wall_now()));
  parts_.committer.now(std::move(batch), [](bool) {});
  say(Level::info, "drill_answered",
      quoted(given.by) + " has got the exercise " + outage_text(plan_, number) + " (" +
          word(given.way) + ").");
  if (row->closed) dispatcher_.end_drill(number);
  return {};
}

// An answer proves the way by which the question came. A text in reply does not name it: it proves
// the ways of texts that have delivered something to this person meanwhile.
void Engine::note_proof(OutageId outage, const Acknowledgement& given) {
  const std::string who = keyholder_called(settings_, given.by);
  if (who.empty()) return;
  const WallTime now = parts_.clock.wall_now();
  if (given.way == AnswerWay::link && !given.notifier.empty()) {
    return proofs_.answered(who, given.notifier, now);
  }
  if (given.way != AnswerWay::text) return;
  const DrillRow* drill = drills_.open(outage);
  const auto running = outages_.find(outage);
  if (drill == nullptr && running == outages_.end()) return;
  const WallTime begun = drill != nullptr ? drill->started_at : running->second.confirmed_at;
  for (const auto& one : settings_.notifiers) {
    const bool is_text =
        one.kind == NotifierKind::sms_gateway || one.kind == NotifierKind::gsm_modem;
    const ProofRow* row = is_text ? proofs_.find(who, one.id) : nullptr;
    const bool delivered = row != nullptr && row->delivered_at && *row->delivered_at >= begun;
    if (delivered) proofs_.answered(who, one.id, now);
  }
}

void Engine::tend_drills() {
  const WallTime now = parts_.clock.wall_now();
  for (const DrillRow& row : drills_.take_expired(now)) {
    Batch batch;
    batch.drills.push_back(row);
    batch.decisions.push_back(drill_act(row, plan_, "drill_ended", row.by, now));
    parts_.committer.later(std::move(batch));
    dispatcher_.end_drill(row.outage);
    say(Level::warning, "drill_ended",
        "Exercise " + outage_text(plan_, row.outage) +
            " was not answered by everybody: it went to " + with_commas(row.told) +
            "; answered: " + (row.answered.empty() ? "nobody" : with_commas(row.answered)) + ".");
  }
  for (const CallListSettings& list : settings_.call_lists) {
    const auto last = drills_.last_by(schedule_of(list));
    const auto& zone = settings_.watcher.time_zone;
    if (!drill_is_due(list.drills, last, drills_since_, zone, now) || !may_drill()) continue;
    const DrillPlan plan = plan_drill(settings_, list);
    if (!plan.calls.empty()) (void)begin_drill(plan, schedule_of(list));  // Logged there.
  }
}

std::vector<WayProof> Engine::ways() const {
  return way_proofs(settings_, proofs_, answers_.ways(), parts_.clock.wall_now());
}

}  // namespace ebbwatch
