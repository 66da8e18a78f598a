#include "notices/desk_book.h"

#include <algorithm>
#include <array>

#include "core/invariant.h"
#include "core/limits.h"
#include "notices/duty.h"
#include "text/gsm7.h"
#include "text/identifier.h"
#include "text/utf8.h"

namespace ebbwatch {
namespace {

bool has_address(const KeyholderSettings& keyholder, NotifierKind kind) {
  switch (kind) {
    case NotifierKind::email:
      return !keyholder.email.empty();
    case NotifierKind::sms_gateway:
    case NotifierKind::gsm_modem:
      return !keyholder.phone.empty();
    case NotifierKind::webhook:
    case NotifierKind::program:
      break;
  }
  return true;
}

// But for the case of Latin letters.
bool same_letters(const std::string& a, const std::string& b) {
  const auto low = [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; };
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [&](char x, char y) { return low(x) == low(y); });
}

// A notice that was withdrawn before any attempt has reached nobody and stands in nobody's way.
bool never_sent(const Notice& notice) {
  return notice.delivery.state == DeliveryState::withdrawn && notice.delivery.attempts == 0 &&
         !notice.delivery.maybe_arrived;
}

// Only a running outage can be taken on.
bool asks_for_answer(const Notice& notice) {
  return notice.outage != 0 && (is_loss(notice) || tells(notice, DecisionKind::cause_revised));
}

std::string kept_answer(const std::string& answer) {
  std::size_t end = 0;
  while (end < answer.size()) {
    const std::size_t next = end + code_point_at(answer, end).bytes;
    if (next > limits::answer_text_bytes_max) break;
    end = next;
  }
  return answer.substr(0, end);
}

}  // namespace

Turn turn_at(WallTime now, Entropy* entropy) {
  Turn turn;
  turn.now = now;
  turn.entropy = entropy;
  return turn;
}

std::string new_identifier(Turn& turn) {
  INVARIANT(turn.entropy != nullptr);
  std::array<std::uint8_t, 10> bytes{};
  turn.entropy->fill(bytes);
  unsigned char random[10];
  std::copy(bytes.begin(), bytes.end(), random);
  return uuid_v7(std::max<std::int64_t>(0, turn.now.us / 1'000), random);
}

// A modem sends one text at a time, whatever waits.
void DeskBook::set_lane_limits() {
  for (const NotifierSettings& one : settings_->notifiers) {
    LaneLimits limits;
    if (one.kind == NotifierKind::gsm_modem) limits.at_once = 1;
    if (one.at_once > 0) limits.at_once = one.at_once;
    limits.per_minute = one.per_minute;
    lanes_.set_limits(one.id, limits);
  }
}

Notice* DeskBook::find(const std::string& id) {
  const auto found = notices_.find(id);
  return found == notices_.end() ? nullptr : &found->second;
}

DeskOutage* DeskBook::outage(OutageId id) {
  const auto found = outages_.find(id);
  return found == outages_.end() ? nullptr : &found->second;
}

std::vector<Notice*> DeskBook::notices_of(const DeskOutage& outage) {
  std::vector<Notice*> list;
  for (const std::string& id : outage.notices) {
    if (Notice* notice = find(id)) list.push_back(notice);
  }
  return list;
}

std::optional<NotifierKind> DeskBook::kind_of(const std::string& notifier) const {
  for (const NotifierSettings& candidate : settings_->notifiers) {
    if (candidate.id == notifier) return candidate.kind;
  }
  return std::nullopt;
}

std::string DeskBook::display_name(const std::string& by) const {
  const KeyholderSettings* person = find_keyholder(*settings_, by);
  return person == nullptr || person->name.empty() ? by : person->name;
}

bool DeskBook::is_called(const std::string& keyholder, const std::string& by) const {
  return same_letters(by, keyholder) || same_letters(by, display_name(keyholder));
}

std::vector<std::string> DeskBook::usable_ways(const std::string& keyholder,
                                               const std::vector<std::string>& by) const {
  std::vector<std::string> ways;
  const KeyholderSettings* person = find_keyholder(*settings_, keyholder);
  if (person == nullptr) return ways;
  for (const std::string& way : by) {
    const std::optional<NotifierKind> kind = kind_of(way);
    if (kind && has_address(*person, *kind)) ways.push_back(way);
  }
  return ways;
}

std::string delivered_key(const std::string& group, const std::string& keyholder,
                          const std::string& notifier) {
  return group + " " + keyholder + " " + notifier;
}

bool DeskBook::exists(const Blueprint& blueprint, const std::string& way) {
  const DeskOutage* entry = outage(blueprint.outage);
  if (entry == nullptr) return false;
  if (entry->elsewhere.contains(delivered_key(blueprint.group, blueprint.keyholder, way))) {
    return true;
  }
  for (const Notice* notice : notices_of(*entry)) {
    if (notice->group == blueprint.group && notice->notifier == way &&
        notice->message.keyholder == blueprint.keyholder && !never_sent(*notice)) {
      return true;
    }
  }
  return false;
}

// The loss notice (or standing one) that this person got, or may have got, by the same way.
std::string DeskBook::first_notice_of(const Notice& notice) {
  const DeskOutage* entry = outage(notice.outage);
  if (entry == nullptr || notice.outage == 0) return "";
  for (const Notice* earlier : notices_of(*entry)) {
    const bool starts = is_loss(*earlier) || tells(*earlier, DecisionKind::unsteady);
    if (starts && earlier->notifier == notice.notifier && !never_sent(*earlier) &&
        earlier->message.keyholder == notice.message.keyholder &&
        earlier->message.notice != notice.message.notice) {
      return earlier->bundle.empty() ? earlier->message.notice : earlier->bundle;
    }
  }
  return "";
}

Notice* DeskBook::create(Turn& turn, const Blueprint& blueprint) {
  INVARIANT(!blueprint.ways.empty() && blueprint.story != nullptr);
  const std::string& way = blueprint.ways.front();
  const KeyholderSettings* person = find_keyholder(*settings_, blueprint.keyholder);
  const std::optional<NotifierKind> kind = kind_of(way);
  if (person == nullptr || !kind || exists(blueprint, way)) return nullptr;
  Notice notice;
  notice.message.notice = new_identifier(turn);
  notice.message.keyholder = person->id;
  notice.message.to_name = person->name.empty() ? person->id : person->name;
  notice.message.to_email = person->email;
  notice.message.to_phone = person->phone;
  notice.notifier = way;
  notice.notifier_kind = *kind;
  notice.outage = blueprint.outage;
  notice.group = blueprint.group;
  notice.occasion = blueprint.occasion;
  notice.language = first_known_language(person->languages);
  notice.story = *blueprint.story;
  notice.other_ways.assign(blueprint.ways.begin() + 1, blueprint.ways.end());
  notice.held_for = blueprint.held_for;
  notice.created_at = turn.now;
  notice.delivery = new_delivery(turn.now);
  notice.fail_over_at = turn.now + fail_over_after;
  notice.ticket = last_ticket_ + 1;
  notice.order = ++last_order_;
  notice.message.first_notice = first_notice_of(notice);
  if (answers_ != nullptr && asks_for_answer(notice)) {
    notice.message.answer_code = answers_->code(notice.outage, person->id);
    notice.message.answer_link = answers_->link(notice.outage, person->id, way);
  }
  write_texts(notice, turn.now);
  open(blueprint.outage).notices.push_back(notice.message.notice);
  const auto [at, added] = notices_.emplace(notice.message.notice, std::move(notice));
  INVARIANT(added);
  route(turn, at->second, blueprint.digest_at);
  touch(turn, at->second);
  return &at->second;
}

void DeskBook::restore(Notice notice) {
  notice.order = ++last_order_;
  open(notice.outage).notices.push_back(notice.message.notice);
  const auto [at, added] = notices_.emplace(notice.message.notice, std::move(notice));
  if (added) place(at->second);
}

void DeskBook::place(Notice& notice) {
  const Delivery& delivery = notice.delivery;
  if (delivery.state != DeliveryState::waiting || !notice.held_for.empty()) return;
  if (!notice.failed_over && !notice.other_ways.empty() && notice.fail_over_at) {
    fail_overs_.insert({*notice.fail_over_at, notice.message.notice});
  }
  if (delivery.in_flight || notice.ticket != 0 || !notice.bundle.empty()) return;
  const bool chore = notice.story.drill || notice.story.topic == Topic::digest;
  const Rank rank = chore ? Rank::chores : Rank::alarm;
  notice.place = Place{delivery.next_attempt_at, notice.order, rank};
  lanes_.queue(notice.notifier, *notice.place, notice.message.notice);
}

void DeskBook::unplace(Notice& notice) {
  if (notice.fail_over_at) fail_overs_.erase({*notice.fail_over_at, notice.message.notice});
  if (!notice.place) return;
  lanes_.unqueue(notice.notifier, *notice.place);
  notice.place.reset();
}

void DeskBook::touch(Turn& turn, Notice& notice) {
  turn.touched.insert(notice.message.notice);
  unplace(notice);
  place(notice);
}

void DeskBook::withdraw(Turn& turn, Notice& notice) {
  if (!is_waiting(notice)) return;
  ebbwatch::withdraw(notice.delivery, turn.now);
  touch(turn, notice);
  end_empty_bundle(turn, notice.bundle);
}

void DeskBook::release(Turn& turn, Notice& notice, Occasion occasion,
                       std::vector<std::string> other_ways) {
  unplace(notice);
  notice.held_for.clear();
  notice.occasion = occasion;
  notice.other_ways = std::move(other_ways);
  notice.delivery = new_delivery(turn.now);
  notice.fail_over_at = turn.now + fail_over_after;
  notice.message.first_notice = first_notice_of(notice);
  write_texts(notice, turn.now);
  route(turn, notice, {});
  touch(turn, notice);
}

void DeskBook::give_up(Turn& turn, Notice& notice, const std::string& reason) {
  unplace(notice);
  ebbwatch::give_up(notice.delivery, turn.now, reason);
  touch(turn, notice);
  end_empty_bundle(turn, notice.bundle);
}

void DeskBook::stop_fail_over(Notice& notice) {
  unplace(notice);
  notice.fail_over_at.reset();
  place(notice);
}

Notice* DeskBook::take(WallTime now) {
  const std::optional<Lanes::Taken> taken = lanes_.take(now);
  if (!taken) return nullptr;
  Notice* notice = find(taken->notice);
  INVARIANT(notice != nullptr);
  notice->place.reset();
  notice->message.attempt = start_attempt(notice->delivery);
  if (is_bundle(*notice)) start_bundle(*notice, now);
  return notice;
}

std::vector<std::string> DeskBook::end_attempt(Turn& turn, Notice& notice, const Outcome& outcome,
                                               double random) {
  lanes_.free_place(notice.notifier);
  Outcome kept = outcome;
  kept.answer = kept_answer(outcome.answer);
  std::vector<Notice*> ended = {&notice};
  if (is_bundle(notice)) {
    for (Notice* member : waiting_in(notice.message.notice)) {
      if (member->delivery.in_flight) ended.push_back(member);
    }
  }
  std::vector<std::string> ids;
  for (Notice* one : ended) {
    ebbwatch::end_attempt(one->delivery, retry_policy(one->notifier_kind), kept, turn.now, random);
    turn.changes.attempts.push_back(
        {one->message.notice, one->delivery.attempts, turn.now, word(outcome.kind), kept.answer});
    touch(turn, *one);
    ids.push_back(one->message.notice);
  }
  if (is_waiting(notice)) end_empty_bundle(turn, is_bundle(notice) ? ids.front() : std::string());
  return ids;
}

std::vector<std::string> DeskBook::report(Turn& turn, Notice& notice, bool arrived,
                                          const std::string& status) {
  const std::string kept = kept_answer("the carrier reports: " + status);
  std::vector<Notice*> meant = {&notice};
  if (const auto bundle = bundles_.find(notice.message.notice); bundle != bundles_.end()) {
    for (const std::string& id : bundle->second.members) {
      Notice* member = find(id);
      if (member != nullptr && !member->delivery.in_flight) meant.push_back(member);
    }
  }
  std::vector<std::string> changed;
  for (Notice* one : meant) {
    turn.changes.attempts.push_back({one->message.notice, one->delivery.attempts, turn.now,
                                     arrived ? "reported_arrived" : "reported_failed", kept});
    unplace(*one);
    const bool other = apply_report(one->delivery, arrived, turn.now, kept);
    place(*one);
    if (!other) continue;
    touch(turn, *one);
    changed.push_back(one->message.notice);
  }
  return changed;
}

Changes DeskBook::finish(Turn& turn) {
  Changes& changes = turn.changes;
  std::vector<const Notice*> touched;
  for (const std::string& id : turn.touched) touched.push_back(find(id));
  std::sort(touched.begin(), touched.end(),
            [](const Notice* a, const Notice* b) { return a->order < b->order; });
  for (const Notice* notice : touched) changes.notices.push_back(to_row(*notice));
  for (OutageId id : turn.touched_calls) {
    schedule_call(id);
    changes.calls.push_back(to_row(outages_.at(id).call, *settings_));
  }
  if (changes.empty()) return std::move(changes);
  changes.ticket = ++last_ticket_;
  std::set<OutageId> seen = turn.touched_calls;
  for (const Notice* notice : touched) {
    seen.insert(notice->outage);
    if (notice->ticket == changes.ticket) {
      uncommitted_[changes.ticket].push_back(notice->message.notice);
    }
  }
  for (OutageId id : seen) forget_ended(id);
  return std::move(changes);
}

void DeskBook::committed(std::uint64_t ticket) {
  while (!uncommitted_.empty() && uncommitted_.begin()->first <= ticket) {
    for (const std::string& id : uncommitted_.begin()->second) {
      Notice* notice = find(id);
      if (notice == nullptr) continue;
      notice->ticket = 0;
      unplace(*notice);
      place(*notice);
    }
    uncommitted_.erase(uncommitted_.begin());
  }
}

void DeskBook::forget_ended(OutageId id) {
  const auto at = outages_.find(id);
  if (at == outages_.end()) return;
  const DeskOutage& entry = at->second;
  if ((entry.has_call && !entry.call.closed) || entry.standing) return;
  for (const Notice* notice : notices_of(entry)) {
    if (is_waiting(*notice)) return;
  }
  for (const std::string& notice : entry.notices) {
    notices_.erase(notice);
    bundles_.erase(notice);
  }
  if (entry.named_again_at) standing_due_.erase({*entry.named_again_at, id});
  outages_.erase(at);
  schedule_call(id);
}

void DeskBook::schedule_call(OutageId id) {
  if (const auto known = call_due_at_.find(id); known != call_due_at_.end()) {
    calls_due_.erase({known->second, id});
    call_due_at_.erase(known);
  }
  const DeskOutage* entry = outage(id);
  if (entry == nullptr || !entry->has_call) return;
  const std::optional<WallTime> at = next_turn_at(entry->call, *settings_);
  if (!at) return;
  calls_due_.insert({*at, id});
  call_due_at_[id] = *at;
}

void DeskBook::schedule_all_calls() {
  for (const auto& [id, entry] : outages_) schedule_call(id);
}

std::optional<WallTime> DeskBook::next_call_at() const {
  if (calls_due_.empty()) return std::nullopt;
  return calls_due_.begin()->first;
}

void DeskBook::name_again(OutageId id, std::optional<WallTime> at) {
  DeskOutage& entry = open(id);
  if (entry.named_again_at) standing_due_.erase({*entry.named_again_at, id});
  entry.named_again_at = at;
  if (at) standing_due_.insert({*at, id});
}

std::optional<WallTime> DeskBook::next_standing_at() const {
  if (standing_due_.empty()) return std::nullopt;
  return standing_due_.begin()->first;
}

std::vector<OutageId> DeskBook::standing_due(WallTime now) const {
  std::vector<OutageId> due;
  for (const auto& [at, id] : standing_due_) {
    if (at > now) break;
    due.push_back(id);
  }
  return due;
}

std::vector<OutageId> DeskBook::calls_due(WallTime now) const {
  std::vector<OutageId> due;
  for (const auto& [at, id] : calls_due_) {
    if (at > now) break;
    due.push_back(id);
  }
  return due;
}

std::optional<std::string> DeskBook::next_fail_over(WallTime now) const {
  if (fail_overs_.empty() || fail_overs_.begin()->first > now) return std::nullopt;
  return fail_overs_.begin()->second;
}

std::optional<WallTime> DeskBook::next_fail_over_at() const {
  if (fail_overs_.empty()) return std::nullopt;
  return fail_overs_.begin()->first;
}

}  // namespace ebbwatch
