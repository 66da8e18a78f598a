// The rules of who hears that somebody has taken an outage on, or that somebody was not reached.
#include "notices/desk_rules.h"

namespace ebbwatch {
namespace {

// One short notice to each person who knows of the loss, by the way that brought it, or held until
// the attempt under way has brought it.
void tell_aside_to(DeskBook& book, Turn& turn, Blueprint blueprint,
                   const std::vector<Notice*>& of_person) {
  const Notice* known = nullptr;
  const Notice* coming = nullptr;
  for (const Notice* notice : of_person) {
    if (!is_loss(*notice)) continue;
    const bool surer = notice->delivery.state == DeliveryState::delivered &&
                       (known == nullptr || known->delivery.state != DeliveryState::delivered);
    if (surer || (known == nullptr && may_be_known(*notice))) known = notice;
    if (is_waiting(*notice)) coming = notice;
  }
  const bool sure = known != nullptr && known->delivery.state == DeliveryState::delivered;
  if (!sure && coming != nullptr) known = coming;
  if (known == nullptr) return;
  blueprint.ways = {known->notifier};
  if (is_waiting(*known)) blueprint.held_for = known->message.notice;
  (void)book.create(turn, blueprint);
}

// To everybody on the list who knows of the loss, but not to `except` (identifier or name).
void tell_aside(DeskBook& book, Turn& turn, OutageId id, const Story& story,
                const std::string& group, const std::string& except) {
  const DeskOutage* outage = book.outage(id);
  Blueprint blueprint;
  blueprint.outage = id;
  blueprint.group = group;
  blueprint.story = &story;
  const std::vector<Notice*> notices = book.notices_of(*outage);
  for (const std::string& keyholder : keyholders_of(notices)) {
    if (book.is_called(keyholder, except)) continue;
    blueprint.keyholder = keyholder;
    tell_aside_to(book, turn, blueprint, of_keyholder(notices, keyholder));
  }
}

// What has not been delivered of the loss and of how it stood.
void call_off(DeskBook& book, Turn& turn, const DeskOutage& outage) {
  for (Notice* notice : book.notices_of(outage)) {
    if (!is_loss(*notice) && notice->story.topic == Topic::decision) continue;
    book.withdraw(turn, *notice);
    settle(book, turn, notice->message.notice);
  }
}

}  // namespace

void tell_undelivered(DeskBook& book, Turn& turn, const Notice& dead) {
  const OutageId id = dead.outage;
  const std::string whom = dead.message.keyholder;
  const DeskOutage* outage = book.outage(id);
  if (outage == nullptr || !outage->has_call || outage->call.closed || !outage->story) return;
  if (outage->call.acknowledged) return;
  Story story = *outage->story;
  story.topic = Topic::undelivered;
  story.at = turn.now;
  story.unreached = book.display_name(whom);
  story.unreached_by = dead.notifier;
  story.remark = dead.delivery.last_answer;
  const std::string group = "undelivered/" + std::to_string(turn.now.us) + "/" + whom;
  tell_aside(book, turn, id, story, group, whom);
}

void put_away(DeskBook& book, Turn& turn, OutageId id) {
  DeskOutage* outage = book.outage(id);
  if (outage == nullptr || !outage->has_call || outage->call.closed) return;
  stop_calls(outage->call, turn.now);
  book.touch_call(turn, id);
  call_off(book, turn, *outage);
}

void tell_late(DeskBook& book, Turn& turn, OutageId id, const Story& story,
               const std::vector<std::string>& lists) {
  DeskOutage* outage = book.outage(id);
  if (outage == nullptr || !outage->has_call) return tell_loss(book, turn, id, story, lists);
  if (outage->call.closed || !outage->call.acknowledged) return;
  outage->story = story;
  begin_again(outage->call, book.settings(), turn.now);
  book.touch_call(turn, id);
  take_turns(book, turn, id);
}

void acknowledge(DeskBook& book, Turn& turn, OutageId id, const Acknowledgement& given) {
  DeskOutage* outage = book.outage(id);
  if (outage == nullptr || !outage->has_call || outage->call.closed) return;
  const bool news = !outage->call.acknowledged || outage->call.acknowledged_by != given.by;
  take_on(outage->call, book.settings(), given.by, turn.now);
  book.touch_call(turn, id);
  if (!news) return;
  call_off(book, turn, *outage);
  if (!outage->story) return;
  Story story = *outage->story;
  story.topic = Topic::taken_on;
  story.at = turn.now;
  story.taken_by = book.display_name(given.by);
  story.taken_at = turn.now;
  story.taken_until = outage->call.acknowledged_until;
  tell_aside(book, turn, id, story, "acknowledged/" + std::to_string(turn.now.us), given.by);
}

}  // namespace ebbwatch
