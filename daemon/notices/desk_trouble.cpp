// The rules of who hears of the watcher's own troubles that are no decisions of the core.
#include "notices/desk_rules.h"
#include "notices/duty.h"

namespace ebbwatch {
namespace {

constexpr OutageId of_none = 0;

}  // namespace

Story own_story(const DeskBook& book, Topic topic, WallTime since, WallTime now) {
  Story story;
  story.topic = topic;
  story.kind = DecisionKind::watch_gap;
  story.scope = Scope::watcher;
  story.watcher = book.settings().watcher.name;
  story.subject_id = story.watcher;
  story.name = story.watcher;
  story.at = now;
  story.since = since;
  story.decision_json = "{}";
  return story;
}

std::vector<std::string> own_lists(const Settings& settings) {
  std::vector<std::string> lists;
  if (settings.watcher.call_list) return {*settings.watcher.call_list};
  for (const SiteSettings& site : settings.sites) {
    if (site.call_list) add_once(lists, *site.call_list);
  }
  return lists;
}

void tell_store_failing(DeskBook& book, Turn& turn, WallTime since, const std::string& reason) {
  Story story = own_story(book, Topic::store_failing, since, turn.now);
  story.remark = reason;
  Blueprint blueprint;
  blueprint.outage = of_none;
  blueprint.group = "store_failing/" + std::to_string(since.us);
  blueprint.story = &story;
  book.open(of_none).standing = true;
  const Duty duty(book.settings(), book.stand_ins());
  const std::vector<Call> calls = first_calls(book.settings(), own_lists(book.settings()));
  for (const Call& whom : duty.with_stand_ins(calls, turn.now)) {
    blueprint.keyholder = whom.keyholder;
    blueprint.ways = book.usable_ways(whom.keyholder, whom.by);
    if (!blueprint.ways.empty()) (void)book.create(turn, blueprint);
  }
}

void tell_store_working(DeskBook& book, Turn& turn) {
  DeskOutage* outage = book.outage(of_none);
  if (outage == nullptr || !outage->standing) return;
  outage->standing = false;
  const Story story = own_story(book, Topic::store_working, turn.now, turn.now);
  Blueprint blueprint;
  blueprint.outage = of_none;
  blueprint.group = "store_working/" + std::to_string(turn.now.us);
  blueprint.story = &story;
  for (Notice* notice : book.notices_of(*outage)) {
    if (notice->story.topic != Topic::store_failing) continue;
    const bool reached = may_be_known(*notice) || notice->delivery.in_flight;
    book.withdraw(turn, *notice);
    if (!reached) continue;
    blueprint.keyholder = notice->message.keyholder;
    blueprint.ways = {notice->notifier};
    blueprint.held_for = is_waiting(*notice) ? notice->message.notice : "";
    (void)book.create(turn, blueprint);
  }
}

}  // namespace ebbwatch
