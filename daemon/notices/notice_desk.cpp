#include "notices/notice_desk.h"

#include <algorithm>

#include "core/invariant.h"
#include "core/wording.h"
#include "notices/desk_rules.h"
#include "settings/plan.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

// Older than this, a notice's words are written anew before it is sent, so that they say so.
constexpr Span late_after = Span::of_min(10);
// A day of 25 h, and an hour more.
constexpr Span digest_wait_max = Span::of_h(26);

Turn turn_at(WallTime now, Entropy* entropy) {
  Turn turn;
  turn.now = now;
  turn.entropy = entropy;
  return turn;
}

Span shortest_on_delay(const WatchPlan& plan) {
  Span shortest = Span::longest();
  for (const ControllerPlan& controller : plan.controllers) {
    shortest = std::min(shortest, controller.detection.on_delay);
  }
  return shortest;
}

Story story_of(const Decision& decision, const DeskBook& book, const DeskContext& context) {
  Story story = make_story(decision, book.settings(), book.plan(), context);
  if (!context.sites.empty() && !story.covered.empty()) {
    story.covered.clear();
    for (SiteIndex site : context.sites) {
      story.covered.push_back(
          subject_name(book.settings(), book.plan(), {Scope::site, site.value}));
    }
  }
  return story;
}

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

NoticeDesk::NoticeDesk(const Settings& settings, const WatchPlan& plan, Answers* answers)
    : book_(settings, plan, answers) {}

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

Changes NoticeDesk::on_decision(const Decision& decision, const DeskContext& context,
                                Entropy& entropy) {
  // Whoever was told of the loss hears of its end, also when it was put away since.
  if (decision.told == Told::held && decision.kind != DecisionKind::recovery) return {};
  Turn turn = turn_at(context.now, &entropy);
  const std::vector<std::string> lists =
      lists_of(book_.settings(), book_.plan(), decision.subject, context.sites);
  const OutageId outage = decision.outage;
  if (decision.kind == DecisionKind::loss || decision.told == Told::late) {
    put_off_drills(book_, turn);
  }
  if (decision.told == Told::late) {
    Decision loss = decision;
    loss.kind = DecisionKind::loss;
    tell_late(book_, turn, outage, story_of(loss, book_, context), lists);
    return book_.finish(turn);
  }
  Story story = story_of(decision, book_, context);
  switch (decision.kind) {
    case DecisionKind::loss:
      tell_loss(book_, turn, outage, story, lists);
      break;
    case DecisionKind::recovery:
      tell_recovery(book_, turn, outage, std::move(story));
      break;
    case DecisionKind::cause_revised: {
      Decision loss = decision;
      loss.kind = DecisionKind::loss;
      tell_revision(book_, turn, outage, story, story_of(loss, book_, context), lists);
      break;
    }
    case DecisionKind::watch_gap:
      if (!story.gone_for) story.gone_for = story.at - story.since;
      if (*story.gone_for > shortest_on_delay(book_.plan())) {
        tell_once(book_, turn, outage, story, lists);
      }
      break;
    case DecisionKind::unsteady:
      tell_once(book_, turn, outage, story, lists);
      break;
    case DecisionKind::steady:
      tell_steady(book_, turn, outage, story, lists);
      break;
  }
  return book_.finish(turn);
}

Changes NoticeDesk::on_outcome(const std::string& id, const Outcome& outcome, WallTime now,
                               Entropy& entropy) {
  Turn turn = turn_at(now, &entropy);
  Notice* notice = book_.find(id);
  if (notice == nullptr || !notice->delivery.in_flight) return {};
  for (const std::string& ended : book_.end_attempt(turn, *notice, outcome, entropy.unit())) {
    after_attempt(book_, turn, ended);
  }
  return book_.finish(turn);
}

Changes NoticeDesk::on_report(const std::string& id, bool arrived, const std::string& status,
                              WallTime now, Entropy& entropy) {
  Turn turn = turn_at(now, &entropy);
  Notice* notice = book_.find(id);
  if (notice == nullptr) return {};
  for (const std::string& changed : book_.report(turn, *notice, arrived, status)) {
    after_attempt(book_, turn, changed);
  }
  return book_.finish(turn);
}

bool NoticeDesk::under_way(const std::string& id) const {
  const auto found = book_.notices().find(id);
  return found != book_.notices().end() && found->second.delivery.in_flight;
}

bool NoticeDesk::was_told(OutageId id, const std::string& keyholder) const {
  const auto outage = book_.outages().find(id);
  if (outage == book_.outages().end()) return false;
  const auto& notices = outage->second.notices;
  return std::any_of(notices.begin(), notices.end(), [&](const std::string& one) {
    const Notice& notice = book_.notices().at(one);
    return notice.message.keyholder == keyholder &&
           (may_be_known(notice) || notice.delivery.in_flight || notice.delivery.attempts > 0);
  });
}

Changes NoticeDesk::on_acknowledge(OutageId outage, const Acknowledgement& given, WallTime now,
                                   Entropy& entropy) {
  Turn turn = turn_at(now, &entropy);
  acknowledge(book_, turn, outage, given);
  return book_.finish(turn);
}

Changes NoticeDesk::on_drill(const MadeUpLoss& made, const std::vector<Call>& calls, WallTime now,
                             Entropy& entropy) {
  Turn turn = turn_at(now, &entropy);
  DecisionContext context;
  context.at = now;
  context.since = WallTime{made.decision.since.us};
  context.time_text = [now](Instant at) { return time_of_day(WallTime{at.us}, now); };
  context.drill = true;
  const Story story = make_story(made.decision, made.settings, made.plan, context);
  tell_drill(book_, turn, made.decision.outage, story, calls);
  return book_.finish(turn);
}

Changes NoticeDesk::end_drill(OutageId number, WallTime now) {
  Turn turn = turn_at(now, nullptr);
  ebbwatch::end_drill(book_, turn, number);
  return book_.finish(turn);
}

Changes NoticeDesk::on_put_away(OutageId outage, WallTime now) {
  Turn turn = turn_at(now, nullptr);
  put_away(book_, turn, outage);
  return book_.finish(turn);
}

Changes NoticeDesk::on_hand_over(OutageId outage, WallTime now) {
  Turn turn = turn_at(now, nullptr);
  put_away(book_, turn, outage);
  if (DeskOutage* entry = book_.outage(outage); entry != nullptr && entry->has_call) {
    entry->handed_over = true;
    entry->call.closed = true;
    book_.touch_call(turn, outage);
  }
  return book_.finish(turn);
}

Changes NoticeDesk::on_reached_elsewhere(OutageId outage, const std::vector<std::string>& delivered,
                                         WallTime now) {
  Turn turn = turn_at(now, nullptr);
  if (delivered.empty()) return {};
  DeskOutage& entry = book_.open(outage);
  entry.elsewhere.insert(delivered.begin(), delivered.end());
  for (Notice* notice : book_.notices_of(entry)) {
    const std::string key =
        delivered_key(notice->group, notice->message.keyholder, notice->notifier);
    if (is_waiting(*notice) && entry.elsewhere.contains(key)) book_.withdraw(turn, *notice);
  }
  return book_.finish(turn);
}

std::vector<std::string> NoticeDesk::delivered_of(OutageId outage) const {
  std::vector<std::string> out;
  const auto found = book_.outages().find(outage);
  if (found == book_.outages().end()) return out;
  for (const std::string& id : found->second.notices) {
    const auto notice = book_.notices().find(id);
    if (notice == book_.notices().end()) continue;
    const Notice& it = notice->second;
    if (it.delivery.state != DeliveryState::delivered) continue;
    out.push_back(delivered_key(it.group, it.message.keyholder, it.notifier));
  }
  return out;
}

bool NoticeDesk::calls_for(OutageId outage) const {
  const auto found = book_.outages().find(outage);
  return found != book_.outages().end() && found->second.has_call;
}

Changes NoticeDesk::on_store(bool failing, const std::string& reason, WallTime now,
                             Entropy& entropy) {
  Turn turn = turn_at(now, &entropy);
  if (failing) {
    if (!store_failing_since_) store_failing_since_ = now;
    store_failing_reason_ = reason;
    tell_of_store(turn);
  } else {
    if (store_failing_told_) tell_store_working(book_, turn);
    store_failing_since_.reset();
    store_failing_told_ = false;
  }
  return book_.finish(turn);
}

void NoticeDesk::tell_of_store(Turn& turn) {
  if (!store_failing_since_ || store_failing_told_) return;
  if (turn.now < *store_failing_since_ + store_failing_after) return;
  store_failing_told_ = true;
  tell_store_failing(book_, turn, *store_failing_since_, store_failing_reason_);
}

std::string NoticeDesk::taken_by(OutageId outage) const {
  const auto found = book_.outages().find(outage);
  return found == book_.outages().end() ? std::string() : found->second.call.acknowledged_by;
}

void NoticeDesk::on_notifier(const std::string& notifier, bool failing, const std::string& reason,
                             WallTime now) {
  const auto known = failing_.find(notifier);
  if (failing) {
    if (known == failing_.end()) {
      failing_[notifier] = {now, reason};
    } else if (known->second.told) {
      known->second.over = false;
    }
  } else if (known != failing_.end()) {
    if (known->second.told) {
      known->second.over = true;
      known->second.since = now;
    } else {
      failing_.erase(known);
    }
  }
}

void NoticeDesk::tell_of_notifiers(Turn& turn) {
  for (auto at = failing_.begin(); at != failing_.end();) {
    Failing& it = at->second;
    const bool lasts = turn.now >= it.since + notifier_failing_after;
    if (!it.told && lasts) {
      tell_notifier(book_, turn, at->first, true, it.since, it.reason);
      it.told = true;
    } else if (it.over && lasts) {
      tell_notifier(book_, turn, at->first, false, it.since, "");
      at = failing_.erase(at);
      continue;
    }
    ++at;
  }
}

Changes NoticeDesk::on_unproven(const std::string& keyholder, const std::string& notifier,
                                std::optional<WallTime> proven_at,
                                const std::vector<std::string>& lists, WallTime now,
                                Entropy& entropy) {
  Turn turn = turn_at(now, &entropy);
  tell_unproven(book_, turn, keyholder, notifier, proven_at, lists);
  return book_.finish(turn);
}

Changes NoticeDesk::on_tick(WallTime now, Entropy& entropy) {
  Turn turn = turn_at(now, &entropy);
  tell_of_store(turn);
  tell_of_notifiers(turn);
  for (OutageId id : book_.standing_due(now)) name_standing(book_, turn, id);
  for (OutageId id : book_.calls_due(now)) take_turns(book_, turn, id);
  while (const std::optional<std::string> late = book_.next_fail_over(now)) {
    fail_over(book_, turn, *late);
  }
  return book_.finish(turn);
}

void NoticeDesk::committed(std::uint64_t ticket) {
  book_.committed(ticket);
}

std::vector<Send> NoticeDesk::take_due(WallTime now) {
  std::vector<Send> sends;
  while (Notice* notice = book_.take(now)) {
    if (now - notice->story.at >= late_after) write_texts(*notice, now);
    sends.push_back({notice->notifier, notice->message});
  }
  return sends;
}

std::optional<WallTime> NoticeDesk::next_deadline() const {
  std::optional<WallTime> next = book_.next_due();
  const auto consider = [&next](std::optional<WallTime> at) {
    if (at && (!next || *at < *next)) next = at;
  };
  consider(book_.next_fail_over_at());
  consider(book_.next_call_at());
  if (store_failing_since_ && !store_failing_told_) {
    consider(*store_failing_since_ + store_failing_after);
  }
  for (const auto& [id, it] : failing_) {
    if (!it.told || it.over) consider(it.since + notifier_failing_after);
  }
  consider(book_.next_standing_at());
  return next;
}

std::size_t NoticeDesk::waiting() const {
  std::size_t count = 0;
  for (const auto& [id, notice] : book_.notices()) count += is_waiting(notice) ? 1 : 0;
  return count;
}

}  // namespace ebbwatch
