// The notice desk takes up what an earlier process stored, or goes on with other settings.
#include <algorithm>

#include "core/invariant.h"
#include "core/wording.h"
#include "notices/desk_rules.h"
#include "notices/notice_desk.h"

namespace ebbwatch {
namespace {

// A day of 25 h, and an hour more.
constexpr Span digest_wait_max = Span::of_h(26);

void give_up_without_notifier(DeskBook& book, Turn& turn) {
  std::vector<std::string> gone;
  for (const auto& [id, notice] : book.notices()) {
    const bool idle = is_waiting(notice) && !notice.delivery.in_flight;
    if (idle && !book.kind_of(notice.notifier)) gone.push_back(id);
  }
  for (const std::string& id : gone) {
    book.give_up(turn, *book.find(id), "this notifier is not configured any more");
    after_attempt(book, turn, id);
  }
}

NoticeRow unreadable(NoticeRow row, WallTime now, const std::string& why) {
  row.state = word(DeliveryState::dead_letter);
  row.ended_at = now;
  row.last_answer = "stored notice cannot be read: " + why;
  return row;
}

std::optional<Subject> find_subject(const WatchPlan& plan, const std::string& scope_word,
                                    const std::string& id) {
  const auto among = [&](Scope scope, const auto& table) -> std::optional<Subject> {
    if (scope_word != word(scope)) return std::nullopt;
    for (std::uint32_t i = 0; i < table.size(); ++i) {
      if (table[i].id == id) return Subject{scope, i};
    }
    return std::nullopt;
  };
  if (const auto found = among(Scope::controller, plan.controllers)) return found;
  if (const auto found = among(Scope::tank, plan.tanks)) return found;
  if (const auto found = among(Scope::site, plan.sites)) return found;
  if (const auto found = among(Scope::area, plan.areas)) return found;
  return among(Scope::provider, plan.providers);
}

// What the row of an outage still says of it, for one whose notices were not made before a restart.
// The evidence is lost then. Empty when the plan does not have its subject any more.
std::optional<Story> story_from(const OutageRow& row, const DeskBook& book) {
  const std::optional<Subject> subject = find_subject(book.plan(), row.scope, row.subject);
  if (!subject) return std::nullopt;
  Decision loss;
  loss.subject = *subject;
  loss.outage = row.id;
  for (Cause cause :
       {Cause::mains_power, Cause::internet, Cause::controller, Cause::watcher_uplink}) {
    if (row.cause == word(cause)) loss.cause = cause;
  }
  loss.confidence = row.confidence;
  DecisionContext context;
  context.at = row.confirmed_at;
  context.since = row.since;
  return make_story(loss, book.settings(), book.plan(), context);
}

void take_up_standing(DeskBook& book, OutageId id, const Story& story, WallTime now) {
  DeskOutage& outage = book.open(id);
  outage.standing = true;
  outage.story = story;
  const auto subject = find_subject(book.plan(), word(story.scope), story.subject_id);
  if (!subject) return;
  outage.lists = lists_of(book.settings(), book.plan(), *subject, {});
  book.name_again(id, digest_time(book.settings(), outage.lists, now));
}

// The newest story that was told decides what counts as told.
void take_up_stories(DeskBook& book, OutageId id, WallTime now) {
  DeskOutage& outage = book.open(id);
  std::optional<WallTime> newest;
  for (const Notice* notice : book.notices_of(outage)) {
    if (notice->story.topic != Topic::decision) continue;
    const DecisionKind kind = notice->story.kind;
    if (kind == DecisionKind::unsteady) take_up_standing(book, id, notice->story, now);
    if (kind == DecisionKind::steady) {
      outage.standing = false;
      book.name_again(id, std::nullopt);
    }
    if (kind != DecisionKind::loss && kind != DecisionKind::cause_revised) continue;
    if (newest && *newest > notice->story.at) continue;
    newest = notice->story.at;
    outage.story = notice->story;
    outage.story->kind = DecisionKind::loss;
    outage.told_cause = notice->story.cause;
    outage.told_scope = notice->story.scope;
  }
}

bool waits_for_digest(const Notice& notice) {
  return notice.delivery.attempts == 0 && priority_of(notice.story) == Priority::low;
}

void restore_notices(DeskBook& book, Turn& turn, const StoredState& state) {
  std::vector<const NoticeRow*> rows;
  for (const NoticeRow& row : state.notices) rows.push_back(&row);
  std::stable_sort(rows.begin(), rows.end(), [](const NoticeRow* a, const NoticeRow* b) {
    return a->created_at < b->created_at;
  });
  for (const NoticeRow* row : rows) {
    Result<Notice> read = from_row(*row);
    if (!read) {
      if (row->state != word(DeliveryState::waiting)) continue;
      turn.changes.notices.push_back(unreadable(*row, turn.now, read.error().text));
      turn.changes.remarks.push_back("Stored notice " + row->notice +
                                     " cannot be read: " + read.error().text);
      continue;
    }
    Notice& notice = read.value();
    notice.notifier_kind = book.kind_of(notice.notifier).value_or(NotifierKind::program);
    if (is_waiting(notice)) {
      clamp(notice.delivery, turn.now,
            waits_for_digest(notice) ? digest_wait_max : retry_after_max);
      // Held ones were never offered; any other may have been on its way when the process ended.
      // Neither was what waits for the time of its summary or digest.
      const bool untouched = (is_bundle(notice) || !notice.bundle.empty()) &&
                             notice.delivery.attempts == 0 && row->next_attempt_at > turn.now;
      if (notice.held_for.empty() && !untouched) notice.delivery.maybe_arrived = true;
      notice.fail_over_at = std::max(turn.now, notice.delivery.next_attempt_at) + fail_over_after;
    }
    book.restore(std::move(notice));
  }
}

// An attempt at a loss that was in flight when its outage recovered (its call is not loaded then)
// or was acknowledged ended with the process; nobody waits for its answer any more.
void settle_lost_answers(DeskBook& book, Turn& turn) {
  std::vector<std::string> losses;
  for (const auto& [id, notice] : book.notices()) {
    if (!is_waiting(notice) || !is_loss(notice)) continue;
    const DeskOutage* outage = book.outage(notice.outage);
    if (outage->drill) continue;
    if (!outage->has_call || outage->call.closed || outage->call.acknowledged) {
      losses.push_back(id);
    }
  }
  for (const std::string& id : losses) {
    book.withdraw(turn, *book.find(id));
    settle(book, turn, id);
  }
}

// What waits for a notice that is not stored any more would wait for ever.
void free_orphans(DeskBook& book, Turn& turn) {
  std::vector<std::string> orphans;
  for (const auto& [id, notice] : book.notices()) {
    const bool held = is_waiting(notice) && !notice.held_for.empty();
    if (held && book.find(notice.held_for) == nullptr) orphans.push_back(id);
  }
  for (const std::string& id : orphans) {
    Notice& notice = *book.find(id);
    if (tells(notice, DecisionKind::recovery)) {
      book.release(turn, notice, Occasion::combined, notice.other_ways);
    } else {
      book.withdraw(turn, notice);
    }
  }
}

}  // namespace

Changes NoticeDesk::restore(const StoredState& state, WallTime now, Entropy& entropy) {
  INVARIANT(book_.notices().empty() && book_.outages().empty());
  Turn turn = turn_at(now, &entropy);
  for (const CallRow& row : state.calls) {
    DeskOutage& outage = book_.open(row.outage);
    outage.has_call = true;
    outage.call = from_row(row);
  }
  for (const OutageRow& row : state.outages) {
    DeskOutage* outage = book_.outage(row.id);
    if (outage == nullptr || !outage->has_call) continue;
    outage->story = story_from(row, book_);
    if (!outage->story) continue;
    outage->told_cause = outage->story->cause;
    outage->told_scope = outage->story->scope;
  }
  for (const DrillRow& row : state.drills) {
    if (row.closed) continue;
    DeskOutage& drill = book_.open(row.outage);
    drill.drill = drill.standing = true;
  }
  book_.schedule_all_calls();
  book_.use(state.stand_ins);
  restore_notices(book_, turn, state);
  book_.rejoin_bundles(turn);
  std::vector<OutageId> ids;
  for (const auto& [id, outage] : book_.outages()) ids.push_back(id);
  for (OutageId id : ids) take_up_stories(book_, id, now);
  settle_lost_answers(book_, turn);
  free_orphans(book_, turn);
  give_up_without_notifier(book_, turn);
  return book_.finish(turn);
}

Changes NoticeDesk::reload(const Settings& settings, const WatchPlan& plan, WallTime now,
                           Entropy& entropy) {
  Turn turn = turn_at(now, &entropy);
  book_.use(settings, plan);
  give_up_without_notifier(book_, turn);
  return book_.finish(turn);
}

}  // namespace ebbwatch
