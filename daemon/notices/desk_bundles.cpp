// What goes in one message with others: summaries when too much comes at once, and the daily digest
// of what needs nobody now. The notices in it stay single ones for all rules; only their attempts
// are those of the message that carries them.
#include <algorithm>

#include "core/invariant.h"
#include "notices/bundle_text.h"
#include "notices/desk_book.h"
#include "notices/duty.h"

namespace ebbwatch {
namespace {

// Programs want each event for itself.
bool is_read_by_people(NotifierKind kind) {
  return kind != NotifierKind::webhook && kind != NotifierKind::program;
}

Story bundle_story(Topic topic, const std::string& watcher, WallTime now) {
  Story story;
  story.topic = topic;
  story.kind = DecisionKind::watch_gap;
  story.scope = Scope::watcher;
  story.watcher = watcher;
  story.subject_id = watcher;
  story.name = watcher;
  story.at = now;
  story.since = now;
  story.decision_json = "{}";
  return story;
}

}  // namespace

void DeskBook::route(Turn& turn, Notice& notice, std::optional<WallTime> digest_at) {
  if (!notice.held_for.empty() || notice.story.drill || is_bundle(notice)) return;
  if (priority_of(notice.story) == Priority::low) {
    return join(turn, notice, Topic::digest, digest_at.value_or(turn.now + gathered_for));
  }
  if (!is_read_by_people(notice.notifier_kind) || !is_flood(notice, turn.now)) return;
  const PersonAndWay key{notice.message.keyholder, notice.notifier};
  const auto before = summary_due_.find(key);
  WallTime at = turn.now + gathered_for;
  if (before != summary_due_.end()) {
    // A due time too far away was planned before the clock was set back.
    const WallTime next = std::min(before->second, turn.now) + summary_every;
    at = std::max(at, next);
  }
  join(turn, notice, Topic::summary, at);
}

// Counts the notice, and says whether it is one too many.
bool DeskBook::is_flood(const Notice& notice, WallTime now) {
  const KeyholderSettings* person = find_keyholder(*settings_, notice.message.keyholder);
  if (person == nullptr || person->summary_above == 0) return false;
  auto& recent = recent_[{notice.message.keyholder, notice.notifier}];
  const auto is_past = [now](WallTime at) { return at > now || now - at >= flood_within; };
  while (!recent.empty() && is_past(recent.front())) recent.pop_front();
  const bool flood = recent.size() >= person->summary_above;
  if (recent.size() > person->summary_above) recent.pop_front();
  recent.push_back(now);
  return flood;
}

// The one that goes to the same person by the same way and takes more.
Notice* DeskBook::open_bundle(const Notice& notice, Topic topic) {
  const DeskOutage* entry = outage(0);
  if (entry == nullptr) return nullptr;
  for (Notice* other : notices_of(*entry)) {
    if (other->story.topic != topic || !is_waiting(*other)) continue;
    if (other->message.keyholder != notice.message.keyholder) continue;
    if (other->notifier != notice.notifier) continue;
    const auto found = bundles_.find(other->message.notice);
    if (found != bundles_.end() && found->second.open) return other;
  }
  return nullptr;
}

void DeskBook::join(Turn& turn, Notice& notice, Topic topic, WallTime at) {
  Notice* carrier = open_bundle(notice, topic);
  if (carrier == nullptr) carrier = &new_bundle(turn, notice, topic, at);
  bundles_[carrier->message.notice].members.push_back(notice.message.notice);
  notice.bundle = carrier->message.notice;
  notice.delivery.due_at = carrier->delivery.due_at;
  notice.delivery.next_attempt_at = carrier->delivery.next_attempt_at;
  notice.fail_over_at = carrier->delivery.next_attempt_at + fail_over_after;
}

Notice& DeskBook::new_bundle(Turn& turn, const Notice& first, Topic topic, WallTime at) {
  Notice made;
  made.message.notice = new_identifier(turn);
  made.message.keyholder = first.message.keyholder;
  made.message.to_name = first.message.to_name;
  made.message.to_email = first.message.to_email;
  made.message.to_phone = first.message.to_phone;
  made.language = first.language;
  made.notifier = first.notifier;
  made.notifier_kind = first.notifier_kind;
  made.group = std::string(word(topic)) + "/" + made.message.notice;
  made.story = bundle_story(topic, first.story.watcher, turn.now);
  made.created_at = turn.now;
  made.delivery = new_delivery(at);
  made.ticket = last_ticket_ + 1;
  made.order = ++last_order_;
  write_texts(made, turn.now);
  if (topic == Topic::summary) summary_due_[{first.message.keyholder, first.notifier}] = at;
  const std::string id = made.message.notice;
  open(0).notices.push_back(id);
  Notice& kept = notices_.emplace(id, std::move(made)).first->second;
  touch(turn, kept);
  return kept;
}

std::vector<Notice*> DeskBook::waiting_in(const std::string& id) {
  std::vector<Notice*> waiting;
  const auto found = bundles_.find(id);
  if (found == bundles_.end()) return waiting;
  for (const std::string& member : found->second.members) {
    Notice* notice = find(member);
    if (notice != nullptr && notice->bundle == id && is_waiting(*notice)) waiting.push_back(notice);
  }
  return waiting;
}

void DeskBook::end_empty_bundle(Turn& turn, const std::string& id) {
  if (id.empty() || !waiting_in(id).empty()) return;
  if (Notice* bundle = find(id); bundle != nullptr) withdraw(turn, *bundle);
}

void DeskBook::start_bundle(Notice& bundle, WallTime now) {
  bundles_[bundle.message.notice].open = false;
  for (Notice* member : waiting_in(bundle.message.notice)) {
    // Not stored yet: it goes by itself then.
    if (member->ticket != 0) {
      member->bundle.clear();
    } else if (!member->delivery.in_flight) {
      (void)start_attempt(member->delivery);
    }
  }
  fill_bundle(bundle, now);
}

void DeskBook::fill_bundle(Notice& bundle, WallTime now) {
  bundle.story.at = now;
  bundle.story.news.clear();
  bundle.message.carries.clear();
  const Speech say(bundle.language, now);
  for (const Notice* member : waiting_in(bundle.message.notice)) {
    bundle.story.news.push_back(
        news_line(member->story, member->occasion, member->message.answer_link, say, now));
    bundle.message.carries.push_back(member->message.notice);
  }
  bundle.story.decision_json = bundle_json(bundle.story, bundle.message.carries);
  write_texts(bundle, now);
}

void DeskBook::rejoin_bundles(Turn& turn) {
  for (auto& [id, notice] : notices_) {
    if (!is_waiting(notice) || notice.bundle.empty()) continue;
    const Notice* carrier = find(notice.bundle);
    if (carrier != nullptr && is_waiting(*carrier)) {
      Bundle& bundle = bundles_[notice.bundle];
      bundle.members.push_back(id);
      bundle.open = carrier->delivery.attempts == 0 && !carrier->delivery.maybe_arrived;
    } else {
      notice.bundle.clear();
      touch(turn, notice);
    }
  }
  std::vector<std::string> carriers;
  for (const auto& [id, notice] : notices_) {
    if (is_waiting(notice) && is_bundle(notice)) carriers.push_back(id);
  }
  for (const std::string& id : carriers) end_empty_bundle(turn, id);
}

}  // namespace ebbwatch
