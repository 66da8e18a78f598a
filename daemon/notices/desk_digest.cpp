// The rules of what wakes nobody: it is told once a day.
#include <algorithm>

#include "notices/desk_rules.h"
#include "notices/duty.h"

namespace ebbwatch {
WallTime digest_time(const Settings& settings, const std::vector<std::string>& lists,
                     WallTime now) {
  std::optional<WallTime> next;
  for (const std::string& id : lists) {
    const CallListSettings* list = find_list(settings, id);
    if (list == nullptr) continue;
    const WallTime at = settings.watcher.time_zone.next(list->digest_at, now);
    if (!next || at < *next) next = at;
  }
  return next.value_or(now);
}

void tell_low(DeskBook& book, Turn& turn, Blueprint blueprint,
              const std::vector<std::string>& lists, const std::string& not_by) {
  const Duty duty(book.settings(), book.stand_ins());
  blueprint.digest_at = digest_time(book.settings(), lists, turn.now);
  for (const Call& whom :
       duty.with_stand_ins(first_calls(book.settings(), lists), *blueprint.digest_at)) {
    blueprint.keyholder = whom.keyholder;
    blueprint.ways = book.usable_ways(whom.keyholder, whom.by);
    std::erase(blueprint.ways, not_by);
    std::stable_partition(
        blueprint.ways.begin(), blueprint.ways.end(),
        [&](const std::string& way) { return book.kind_of(way) == NotifierKind::email; });
    if (!blueprint.ways.empty()) (void)book.create(turn, blueprint);
  }
}

void name_standing(DeskBook& book, Turn& turn, OutageId id) {
  DeskOutage* outage = book.outage(id);
  if (outage == nullptr || !outage->standing || outage->drill || !outage->story) return;
  if (!outage->named_again_at || turn.now < *outage->named_again_at) return;
  const WallTime digest = digest_time(book.settings(), outage->lists, turn.now);
  book.name_again(id, digest + Span::of_h(20));
  const Story story = *outage->story;
  tell_low(
      book, turn,
      {id, "standing/" + std::to_string(digest.us), Occasion::reminder, &story, {}, {}, {}, {}},
      outage->lists);
}

void tell_notifier(DeskBook& book, Turn& turn, const std::string& notifier, bool failing,
                   WallTime since, const std::string& reason) {
  Story story =
      own_story(book, failing ? Topic::notifier_failing : Topic::notifier_working, since, turn.now);
  story.name = notifier;
  story.subject_id = notifier;
  story.remark = reason;
  const std::string group =
      std::string(word(story.topic)) + "/" + notifier + "/" + std::to_string(turn.now.us);
  tell_low(book, turn, {0, group, Occasion::first, &story, {}, {}, {}, {}},
           own_lists(book.settings()), notifier);
}

void tell_unproven(DeskBook& book, Turn& turn, const std::string& keyholder,
                   const std::string& notifier, std::optional<WallTime> proven_at,
                   const std::vector<std::string>& lists) {
  Story story = own_story(book, Topic::unproven, turn.now, turn.now);
  story.unreached = book.display_name(keyholder);
  story.unreached_by = notifier;
  story.lost_at = proven_at;
  story.subject_id = keyholder;
  const std::string group =
      "unproven/" + keyholder + "/" + notifier + "/" + std::to_string(turn.now.us);
  tell_low(book, turn, {0, group, Occasion::first, &story, {}, {}, {}, {}}, lists);
}

}  // namespace ebbwatch
