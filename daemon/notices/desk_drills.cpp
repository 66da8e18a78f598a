// The rules of exercises. They share the desk's book, its queues and the notifiers with alarms, and
// give way to them everywhere.
#include "notices/desk_rules.h"

namespace ebbwatch {

void tell_drill(DeskBook& book, Turn& turn, OutageId number, const Story& story,
                const std::vector<Call>& calls) {
  DeskOutage& drill = book.open(number);
  drill.drill = drill.standing = true;
  Blueprint blueprint;
  blueprint.outage = number;
  blueprint.group = "drill";
  blueprint.story = &story;
  for (const Call& whom : calls) {
    blueprint.keyholder = whom.keyholder;
    // No way stands in for another: each one is to be proven.
    for (const std::string& way : book.usable_ways(whom.keyholder, whom.by)) {
      blueprint.ways = {way};
      (void)book.create(turn, blueprint);
    }
  }
}

void end_drill(DeskBook& book, Turn& turn, OutageId number) {
  DeskOutage* drill = book.outage(number);
  if (drill == nullptr || !drill->drill) return;
  drill->standing = false;
  for (Notice* notice : book.notices_of(*drill)) book.withdraw(turn, *notice);
}

void put_off_drills(DeskBook& book, Turn& turn) {
  for (const auto& [id, outage] : book.outages()) {
    if (!outage.drill) continue;
    for (Notice* notice : book.notices_of(outage)) book.withdraw(turn, *notice);
  }
}

}  // namespace ebbwatch
