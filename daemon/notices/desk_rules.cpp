#include "notices/desk_rules.h"

#include <algorithm>

#include "notices/duty.h"
#include "settings/plan.h"

namespace ebbwatch {
namespace {

void call(DeskBook& book, Turn& turn, Blueprint blueprint, const Call& whom) {
  blueprint.keyholder = whom.keyholder;
  blueprint.ways = book.usable_ways(whom.keyholder, whom.by);
  if (blueprint.ways.empty()) {
    turn.changes.remarks.push_back("No notifier of the call list can reach " + whom.keyholder +
                                   ": address or notifier is missing.");
    return;
  }
  (void)book.create(turn, blueprint);  // Null: this person has it by that way already.
}

// As it is told to people now: with whose it was before the list began again.
Story loss_story(const DeskBook& book, const DeskOutage& outage) {
  Story story = *outage.story;
  if (outage.call.resumptions == 0) return story;
  story.taken_by = book.display_name(outage.call.acknowledged_by);
  story.taken_at = outage.call.acknowledged_at;
  return story;
}

std::string loss_group(const CallTurn& turn) {
  const std::string again = turn.resumption == 0 ? "" : "/again" + std::to_string(turn.resumption);
  return "loss/" + std::to_string(turn.round) + again;
}

// @return whether anybody is called, or was already.
bool make_calls(DeskBook& book, Turn& turn, OutageId id, const CallTurn& calls,
                bool also_off_duty = false) {
  DeskOutage& outage = book.open(id);
  if (!outage.story) return true;
  const Story story = loss_story(book, outage);
  const Duty duty(book.settings(), book.stand_ins());
  const std::vector<Call> whom_to_call = also_off_duty ? duty.with_stand_ins(calls.calls, turn.now)
                                                       : duty.present(calls.calls, turn.now);
  for (const Call& whom : whom_to_call) {
    Blueprint blueprint;
    blueprint.outage = id;
    blueprint.group = loss_group(calls);
    blueprint.occasion = calls.occasion;
    blueprint.story = &story;
    call(book, turn, blueprint, whom);
  }
  return !whom_to_call.empty();
}

bool can_be_reached(DeskBook& book, const DeskOutage& outage) {
  if (!outage.elsewhere.empty()) return true;  // By another watcher.
  for (const Notice* notice : book.notices_of(outage)) {
    if (is_loss(*notice) && notice->delivery.state != DeliveryState::dead_letter) return true;
  }
  return false;
}

std::vector<std::string> ids_of(const std::vector<JoinedList>& joined) {
  std::vector<std::string> ids;
  for (const JoinedList& one : joined) ids.push_back(one.id);
  return ids;
}

// Everybody who is on duty cannot be reached: hours do not count then, where it matters.
void call_off_duty(DeskBook& book, Turn& turn, OutageId id) {
  DeskOutage* outage = book.outage(id);
  if (outage == nullptr || !outage->has_call || !outage->story) return;
  const bool stopped = outage->call.acknowledged || outage->call.closed;
  if (stopped || outage->call.next_step == 0 || can_be_reached(book, *outage)) return;
  if (priority_of(*outage->story) != Priority::high) return;
  CallTurn everybody;
  everybody.occasion = Occasion::later_step;
  everybody.resumption = outage->call.resumptions;
  everybody.calls = all_calls(book.settings(), ids_of(outage->call.lists));
  (void)make_calls(book, turn, id, everybody, true);
}

// A turn in which nobody is on duty passes to the next step; a reminder then goes to everybody.
void take_turn_now(DeskBook& book, Turn& turn, OutageId id, CallTurn next) {
  while (!make_calls(book, turn, id, next)) {
    DeskOutage& outage = book.open(id);
    const bool high = outage.story && priority_of(*outage.story) == Priority::high;
    if (next.occasion == Occasion::reminder) {
      if (high) (void)make_calls(book, turn, id, next, true);
      return;
    }
    const std::optional<CallTurn> later = take_step_early(outage.call, book.settings());
    if (!later) return call_off_duty(book, turn, id);
    next = *later;
  }
}

// What is not urgent waits until somebody is on duty.
WallTime begin_at(const DeskBook& book, const Turn& turn, const Story& story,
                  const std::vector<std::string>& lists) {
  if (priority_of(story) != Priority::medium) return turn.now;
  const Duty duty(book.settings(), book.stand_ins());
  return duty.first_present(lists, turn.now).value_or(turn.now);
}

// Nobody of the steps taken so far can be reached: the next step does not wait for its time.
void step_early(DeskBook& book, Turn& turn, OutageId id) {
  DeskOutage* outage = book.outage(id);
  while (outage != nullptr && outage->has_call && outage->call.next_step > 0 &&
         !can_be_reached(book, *outage)) {
    const std::optional<CallTurn> next = take_step_early(outage->call, book.settings());
    if (!next) break;
    book.touch_call(turn, id);
    (void)make_calls(book, turn, id, *next);
  }
  call_off_duty(book, turn, id);
}

std::string timed_group(const Story& story) {
  return std::string(word(story.kind)) + "/" + std::to_string(story.at.us) + "/" +
         word(story.scope) + "/" + word(story.cause);
}

// Nobody can have read it yet, so its words may still be changed.
bool unread(const Notice& notice) {
  return !notice.delivery.in_flight && !notice.delivery.maybe_arrived;
}

// Calls off what was still to be said to this person of how things stood before.
void drop_followers(DeskBook& book, Turn& turn, const std::vector<Notice*>& of_person) {
  for (Notice* notice : of_person) {
    const bool aside = notice->story.topic != Topic::decision;
    if (is_waiting(*notice) && (aside || tells(*notice, DecisionKind::cause_revised))) {
      book.withdraw(turn, *notice);
    }
  }
}

std::vector<std::string> ways_delivered(const std::vector<Notice*>& notices, DecisionKind kind) {
  std::vector<std::string> ways;
  for (const Notice* notice : notices) {
    if (tells(*notice, kind) && notice->delivery.state == DeliveryState::delivered) {
      add_once(ways, notice->notifier);
    }
  }
  return ways;
}

// Ways by which a person whom the loss has not surely reached can be told, best first.
std::vector<std::string> ways_to_try(const std::vector<Notice*>& losses) {
  std::vector<std::string> ways;
  for (const Notice* notice : losses) {
    if (is_waiting(*notice) || notice->delivery.maybe_arrived) add_once(ways, notice->notifier);
  }
  for (const Notice* notice : losses) {
    if (ways.empty()) break;
    for (const std::string& way : notice->other_ways) add_once(ways, way);
  }
  return ways;
}

void revise_for(DeskBook& book, Turn& turn, Blueprint blueprint, const Story& as_loss,
                const std::vector<Notice*>& of_person) {
  drop_followers(book, turn, of_person);
  const std::vector<std::string> delivered = ways_delivered(of_person, DecisionKind::loss);
  for (const std::string& way : delivered) {
    blueprint.ways = {way};
    (void)book.create(turn, blueprint);
  }
  for (Notice* notice : of_person) {
    if (!is_loss(*notice) || !is_waiting(*notice)) continue;
    if (unread(*notice)) {
      const Story before = notice->story;
      notice->story = as_loss;
      notice->story.taken_by = before.taken_by;
      notice->story.taken_at = before.taken_at;
      write_texts(*notice, turn.now);
      book.touch(turn, *notice);
    } else if (delivered.empty()) {
      blueprint.ways = {notice->notifier};
      blueprint.held_for = notice->message.notice;
      (void)book.create(turn, blueprint);
    }
  }
}

void recover_for(DeskBook& book, Turn& turn, Blueprint blueprint,
                 const std::vector<Notice*>& of_person) {
  drop_followers(book, turn, of_person);
  std::vector<Notice*> losses, flying;
  for (Notice* notice : of_person) {
    if (!is_loss(*notice)) continue;
    losses.push_back(notice);
    if (is_waiting(*notice) && notice->delivery.in_flight) flying.push_back(notice);
  }
  const std::vector<std::string> delivered = ways_delivered(losses, DecisionKind::loss);
  const std::vector<std::string> to_try = ways_to_try(losses);
  for (Notice* notice : losses) book.withdraw(turn, *notice);
  for (const std::string& way : delivered) {
    blueprint.ways = {way};
    (void)book.create(turn, blueprint);
  }
  blueprint.occasion = Occasion::combined;
  for (const Notice* notice : flying) {
    blueprint.ways = {notice->notifier};
    for (const std::string& way : to_try) add_once(blueprint.ways, way);
    blueprint.held_for = notice->message.notice;
    (void)book.create(turn, blueprint);
  }
  if (!delivered.empty() || !flying.empty() || to_try.empty()) return;
  blueprint.held_for.clear();
  blueprint.ways = to_try;
  (void)book.create(turn, blueprint);
}

// Whom another watcher has told, before this one took over, hears the end from this one.
void recover_elsewhere(DeskBook& book, Turn& turn, OutageId id, Blueprint blueprint) {
  const std::set<std::string> elsewhere = book.open(id).elsewhere;
  for (const std::string& key : elsewhere) {
    const std::size_t last = key.rfind(' ');
    const std::size_t before = last == key.npos || last == 0 ? key.npos : key.rfind(' ', last - 1);
    if (before == key.npos || !key.starts_with("loss/")) continue;
    blueprint.keyholder = key.substr(before + 1, last - before - 1);
    blueprint.ways = {key.substr(last + 1)};
    (void)book.create(turn, blueprint);
  }
}

// Whether some other notice of the same group reaches, or may yet reach, the same person.
bool has_sibling(DeskBook& book, const Notice& notice) {
  const DeskOutage* outage = book.outage(notice.outage);
  for (const Notice* other : book.notices_of(*outage)) {
    const bool alive = is_waiting(*other) || other->delivery.state == DeliveryState::delivered;
    if (other != &notice && alive && other->group == notice.group &&
        other->message.keyholder == notice.message.keyholder) {
      return true;
    }
  }
  return false;
}

// A fallback is not needed any more when the better way got through after all.
void call_off_fallbacks(DeskBook& book, Turn& turn, const Notice& delivered) {
  const DeskOutage* outage = book.outage(delivered.outage);
  for (Notice* other : book.notices_of(*outage)) {
    const bool fallback = std::find(delivered.other_ways.begin(), delivered.other_ways.end(),
                                    other->notifier) != delivered.other_ways.end();
    if (fallback && is_waiting(*other) && other->group == delivered.group &&
        other->message.keyholder == delivered.message.keyholder) {
      book.withdraw(turn, *other);
      settle(book, turn, other->message.notice);
    }
  }
}

bool may_fail_over(DeskBook& book, const Notice& notice) {
  if (notice.other_ways.empty() || notice.failed_over || !notice.held_for.empty()) return false;
  const Delivery& delivery = notice.delivery;
  if (delivery.stop_asked || delivery.state == DeliveryState::delivered ||
      delivery.state == DeliveryState::withdrawn) {
    return false;
  }
  const DeskOutage* outage = book.outage(notice.outage);
  const bool stopped =
      outage != nullptr && outage->has_call && (outage->call.closed || outage->call.acknowledged);
  return !(stopped && is_loss(notice));
}

}  // namespace

void take_turns(DeskBook& book, Turn& turn, OutageId id) {
  DeskOutage* outage = book.outage(id);
  if (outage == nullptr || !outage->has_call) return;
  const bool taken = outage->call.acknowledged;
  while (const auto next = take_turn(outage->call, book.settings(), turn.now)) {
    book.touch_call(turn, id);
    take_turn_now(book, turn, id, *next);
  }
  if (!taken || outage->call.acknowledged) return;
  book.touch_call(turn, id);
  turn.changes.run_out.push_back(id);
  for (Notice* notice : book.notices_of(*outage)) {
    if (notice->story.topic == Topic::taken_on) book.withdraw(turn, *notice);
  }
}

void tell_loss(DeskBook& book, Turn& turn, OutageId id, const Story& story,
               const std::vector<std::string>& lists) {
  DeskOutage& outage = book.open(id);
  if (outage.has_call && !outage.handed_over) return;
  outage.handed_over = false;
  outage.has_call = true;
  outage.call = CallState{};
  outage.call.outage = id;
  // Taken over from another watcher, its steps go on from when that one began.
  const std::vector<std::string> used = lists_used(book.settings(), lists, turn.now);
  outage.call.started_at =
      outage.elsewhere.empty() ? begin_at(book, turn, story, used) : std::min(story.at, turn.now);
  (void)join_lists(outage.call, used, outage.call.started_at);
  outage.story = story;
  outage.told_cause = story.cause;
  outage.told_scope = story.scope;
  book.touch_call(turn, id);
  if (lists.empty()) {
    turn.changes.remarks.push_back("Nobody is told of " + story.outage + ": " + story.subject_id +
                                   " has no call list.");
  }
  take_turns(book, turn, id);
  step_early(book, turn, id);
}

void tell_revision(DeskBook& book, Turn& turn, OutageId id, const Story& story,
                   const Story& as_loss, const std::vector<std::string>& lists) {
  DeskOutage* outage = book.outage(id);
  if (outage == nullptr || !outage->has_call || outage->call.closed) return;
  outage->story = as_loss;
  const bool wider = story.scope > outage->told_scope;
  const bool other_cause =
      story.cause != outage->told_cause && story.confidence >= revision_confidence_min;
  if (!wider && !other_cause) return;
  outage->told_cause = story.cause;
  outage->told_scope = std::max(story.scope, outage->told_scope);
  Blueprint blueprint;
  blueprint.outage = id;
  blueprint.group = timed_group(story);
  blueprint.story = &story;
  const std::vector<Notice*> notices = book.notices_of(*outage);
  for (const std::string& keyholder : keyholders_of(notices)) {
    blueprint.keyholder = keyholder;
    revise_for(book, turn, blueprint, as_loss, of_keyholder(notices, keyholder));
  }
  const bool began = outage->call.started_at <= turn.now;
  const bool begins = !began && priority_of(as_loss) == Priority::high;
  if (begins) outage->call.started_at = turn.now;
  const bool joined =
      wider && join_lists(outage->call, lists_used(book.settings(), lists, turn.now), turn.now);
  if (joined || begins) {
    book.touch_call(turn, id);
    take_turns(book, turn, id);
  }
}

void tell_recovery(DeskBook& book, Turn& turn, OutageId id, Story story) {
  DeskOutage* outage = book.outage(id);
  if (outage == nullptr || !outage->has_call || outage->call.closed) return;
  outage->call.closed = true;
  book.touch_call(turn, id);
  if (!story.lost_at && outage->story) story.lost_at = outage->story->since;
  if (!story.lost_at && story.gone_for) story.lost_at = story.since - *story.gone_for;
  if (!story.gone_for && story.lost_at) story.gone_for = story.since - *story.lost_at;
  Blueprint blueprint;
  blueprint.outage = id;
  blueprint.group = "recovery";
  blueprint.story = &story;
  const std::vector<Notice*> notices = book.notices_of(*outage);
  for (const std::string& keyholder : keyholders_of(notices)) {
    blueprint.keyholder = keyholder;
    recover_for(book, turn, blueprint, of_keyholder(notices, keyholder));
  }
  recover_elsewhere(book, turn, id, blueprint);
}

void tell_once(DeskBook& book, Turn& turn, OutageId id, const Story& story,
               const std::vector<std::string>& lists) {
  if (first_calls(book.settings(), lists).empty()) return;
  if (story.kind == DecisionKind::unsteady) {
    DeskOutage& outage = book.open(id);
    outage.standing = true;
    outage.story = story;
    outage.lists = lists;
    book.name_again(id, digest_time(book.settings(), lists, turn.now) + Span::of_h(20));
  }
  tell_low(book, turn, {id, timed_group(story), Occasion::first, &story, {}, {}, {}, {}}, lists);
}

void tell_steady(DeskBook& book, Turn& turn, OutageId id, const Story& story,
                 const std::vector<std::string>& lists) {
  DeskOutage* outage = book.outage(id);
  if (outage == nullptr || !outage->standing) {
    // Told of by an earlier process: who knows is not known any more.
    return tell_low(book, turn, {id, timed_group(story), Occasion::first, &story, {}, {}, {}, {}},
                    lists);
  }
  outage->standing = false;
  book.name_again(id, std::nullopt);
  Blueprint blueprint;
  blueprint.outage = id;
  blueprint.group = timed_group(story);
  blueprint.story = &story;
  blueprint.digest_at = digest_time(book.settings(), outage->lists, turn.now);
  const std::vector<Notice*> notices = book.notices_of(*outage);
  for (const std::string& keyholder : keyholders_of(notices)) {
    blueprint.keyholder = keyholder;
    for (const Notice* notice : of_keyholder(notices, keyholder)) {
      const bool told = is_waiting(*notice) || may_be_known(*notice);
      if (!tells(*notice, DecisionKind::unsteady) || !told) continue;
      blueprint.ways = {notice->notifier};
      (void)book.create(turn, blueprint);
    }
  }
}

void fail_over(DeskBook& book, Turn& turn, const std::string& id) {
  Notice* notice = book.find(id);
  if (notice == nullptr) return;
  if (!may_fail_over(book, *notice)) return book.stop_fail_over(*notice);
  notice->failed_over = true;
  Blueprint blueprint;
  blueprint.outage = notice->outage;
  blueprint.group = notice->group;
  blueprint.occasion = notice->occasion;
  blueprint.keyholder = notice->message.keyholder;
  const DeskOutage* outage = book.outage(notice->outage);
  const bool newer = is_loss(*notice) && outage->story;
  const Story story = newer ? loss_story(book, *outage) : notice->story;
  blueprint.story = &story;
  blueprint.ways = notice->other_ways;
  book.touch(turn, *notice);
  while (!blueprint.ways.empty() && book.create(turn, blueprint) == nullptr) {
    blueprint.ways.erase(blueprint.ways.begin());
  }
}

void settle(DeskBook& book, Turn& turn, const std::string& ended_id) {
  const Notice* ended = book.find(ended_id);
  if (ended == nullptr || is_waiting(*ended)) return;
  const bool delivered = ended->delivery.state == DeliveryState::delivered;
  const DeskOutage* outage = book.outage(ended->outage);
  for (Notice* held : book.notices_of(*outage)) {
    if (held->held_for != ended_id || !is_waiting(*held)) continue;
    const bool recovery = tells(*held, DecisionKind::recovery);
    if (delivered) {
      book.release(turn, *held, Occasion::first, {});
    } else if (recovery && !has_sibling(book, *held)) {
      book.release(turn, *held, Occasion::combined, held->other_ways);
    } else {
      book.withdraw(turn, *held);
    }
  }
}

void after_attempt(DeskBook& book, Turn& turn, const std::string& id) {
  Notice* notice = book.find(id);
  const DeliveryState state = notice->delivery.state;
  const bool loss = is_loss(*notice);
  const OutageId outage = notice->outage;
  if (state == DeliveryState::delivered) {
    call_off_fallbacks(book, turn, *notice);
  } else {
    fail_over(book, turn, id);
  }
  settle(book, turn, id);
  if (state == DeliveryState::dead_letter) {
    notice = book.find(id);
    turn.changes.remarks.push_back("Gave up telling " + notice->message.keyholder + " by " +
                                   notice->notifier + ": " + notice->delivery.last_answer);
    if (loss) {
      const bool reached = has_sibling(book, *notice);
      step_early(book, turn, outage);
      if (!reached) tell_undelivered(book, turn, *book.find(id));
    }
  }
}

std::vector<std::string> lists_of(const Settings& settings, const WatchPlan& plan, Subject subject,
                                  const std::vector<SiteIndex>& sites) {
  std::vector<std::string> lists;
  if (subject.scope == Scope::watcher) {
    if (settings.watcher.call_list) lists.push_back(*settings.watcher.call_list);
    return lists;
  }
  std::vector<SiteIndex> covered;
  if (const std::optional<SiteIndex> one = site_of(plan, subject)) {
    covered.push_back(*one);
  } else if (!sites.empty()) {
    covered = sites;
  } else {
    covered = (subject.scope == Scope::area ? plan.areas : plan.providers)[subject.index].sites;
  }
  for (SiteIndex site : covered) {
    const SiteSettings* found = site_of(settings, plan.sites[site.value].id);
    if (found != nullptr && found->call_list) add_once(lists, *found->call_list);
  }
  return lists;
}

}  // namespace ebbwatch
