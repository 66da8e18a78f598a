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

}  // namespace

NoticeDesk::NoticeDesk(const Settings& settings, const WatchPlan& plan, Answers* answers)
    : book_(settings, plan, answers) {}

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

Changes NoticeDesk::on_reading(const Decision& decision, const ReadingNews& news,
                               const std::string& json, const DeskContext& context,
                               Entropy& entropy) {
  Turn turn = turn_at(context.now, &entropy);
  const std::vector<std::string> lists =
      lists_of(book_.settings(), book_.plan(), decision.subject, context.sites);
  Story story = story_of(decision, book_, context);
  story.reading = news;
  story.decision_json = json;
  if (priority_of(story) == Priority::low) {
    tell_once(book_, turn, decision.outage, story, lists);
  } else if (decision.kind == DecisionKind::loss) {
    put_off_drills(book_, turn);
    tell_late(book_, turn, decision.outage, story, lists);  // Also for the first time.
  } else {
    tell_recovery(book_, turn, decision.outage, std::move(story));
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
