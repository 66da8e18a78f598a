#include "notices/duty.h"

#include <algorithm>

namespace ebbwatch {
namespace {

constexpr std::int32_t minutes_a_day = 24 * 60;
constexpr Span looked_ahead = Span::of_days(400);

template <class Item>
const Item* find(const std::vector<Item>& items, const std::string& id) {
  const auto found =
      std::find_if(items.begin(), items.end(), [&](const Item& item) { return item.id == id; });
  return found == items.end() ? nullptr : &*found;
}

const TimeZone& zone_of(const Settings& settings, const HoursSettings& hours) {
  return hours.time_zone ? *hours.time_zone : settings.watcher.time_zone;
}

// Whether a window of this day of the week begins on this day.
bool begins(const HoursSettings& hours, const WeekWindow& window, std::int64_t day, int weekday) {
  const auto has = [](const auto& list, auto value) {
    return std::find(list.begin(), list.end(), value) != list.end();
  };
  return has(window.days, weekday) && !has(hours.closed_on, day);
}

bool covers(const HoursSettings& hours, const WeekWindow& window, const LocalTime& local) {
  const bool today = begins(hours, window, local.day, local.weekday);
  if (window.from < window.until) {
    return today && local.minute >= window.from && local.minute < window.until;
  }
  if (today && local.minute >= window.from) return true;
  return local.minute < window.until &&
         begins(hours, window, local.day - 1, (local.weekday + 6) % 7);
}

bool covers(const Settings& settings, const HoursSettings& hours, WallTime at) {
  const LocalTime local = zone_of(settings, hours).local(at);
  return std::any_of(hours.windows.begin(), hours.windows.end(),
                     [&](const WeekWindow& window) { return covers(hours, window, local); });
}

// The next moment at which a window of the sets may begin or end.
std::optional<WallTime> next_edge(const Settings& settings, const std::vector<std::string>& hours,
                                  WallTime after) {
  std::optional<WallTime> next;
  for (const std::string& id : hours) {
    const HoursSettings* set = find(settings.hours, id);
    if (set == nullptr) continue;
    const TimeZone& zone = zone_of(settings, *set);
    for (const WeekWindow& window : set->windows) {
      for (const std::int32_t minute : {window.from, window.until % minutes_a_day}) {
        const WallTime at = zone.next(minute, after);
        if (!next || at < *next) next = at;
      }
    }
  }
  return next;
}

void add_hours(std::vector<std::string>& all, const std::vector<std::string>& more) {
  for (const std::string& one : more) {
    if (std::find(all.begin(), all.end(), one) == all.end()) all.push_back(one);
  }
}

}  // namespace

const KeyholderSettings* find_keyholder(const Settings& settings, const std::string& id) {
  return find(settings.keyholders, id);
}

bool is_open(const Settings& settings, const std::vector<std::string>& hours, WallTime at) {
  return hours.empty() || std::any_of(hours.begin(), hours.end(), [&](const std::string& id) {
           const HoursSettings* set = find(settings.hours, id);
           return set != nullptr && covers(settings, *set, at);
         });
}

std::optional<WallTime> next_change(const Settings& settings, const std::vector<std::string>& hours,
                                    WallTime at) {
  if (hours.empty()) return std::nullopt;
  const bool open = is_open(settings, hours, at);
  for (auto edge = next_edge(settings, hours, at); edge && *edge - at < looked_ahead;
       edge = next_edge(settings, hours, *edge)) {
    if (is_open(settings, hours, *edge) != open) return edge;
  }
  return std::nullopt;
}

std::vector<std::string> lists_used(const Settings& settings, const std::vector<std::string>& lists,
                                    WallTime at) {
  std::vector<std::string> used;
  for (const std::string& start : lists) {
    const CallListSettings* list = find(settings.call_lists, start);
    // As many steps as there are lists: two may name each other.
    for (std::size_t i = 0; list != nullptr && i < settings.call_lists.size(); ++i) {
      if (is_open(settings, list->hours, at) || !list->otherwise) break;
      const CallListSettings* next = find(settings.call_lists, *list->otherwise);
      if (next == nullptr) break;
      list = next;
    }
    add_hours(used, {list == nullptr ? start : list->id});
  }
  return used;
}

std::string Duty::in_place_of(const std::string& keyholder, WallTime at) const {
  std::string now = keyholder;
  for (std::size_t i = 0; i <= stand_ins_.size(); ++i) {
    const auto found =
        std::find_if(stand_ins_.begin(), stand_ins_.end(), [&](const StandInRow& row) {
          return row.absent == now && row.since <= at && at < row.until;
        });
    if (found == stand_ins_.end() || find(settings_.keyholders, found->stand_in) == nullptr) {
      return now;
    }
    now = found->stand_in;
  }
  return keyholder;
}

std::vector<Call> Duty::with_stand_ins(const std::vector<Call>& calls, WallTime at) const {
  std::vector<Call> out;
  for (const Call& call : calls) add_call(out, in_place_of(call.keyholder, at), call.by);
  return out;
}

bool Duty::on_duty(const std::string& keyholder, WallTime at) const {
  const KeyholderSettings* person = find(settings_.keyholders, keyholder);
  return person == nullptr || is_open(settings_, person->hours, at);
}

std::vector<Call> Duty::present(const std::vector<Call>& calls, WallTime at) const {
  std::vector<Call> out = with_stand_ins(calls, at);
  std::erase_if(out, [&](const Call& call) { return !on_duty(call.keyholder, at); });
  return out;
}

std::optional<WallTime> Duty::first_present(const std::vector<std::string>& lists,
                                            WallTime at) const {
  std::vector<std::string> hours;
  for (const std::string& id : lists) {
    const CallListSettings* list = find(settings_.call_lists, id);
    if (list != nullptr) add_hours(hours, list->hours);
  }
  for (const KeyholderSettings& person : settings_.keyholders) add_hours(hours, person.hours);
  const auto anybody = [&](WallTime when) {
    return std::any_of(lists.begin(), lists.end(), [&](const std::string& id) {
      const CallListSettings* list = find(settings_.call_lists, id);
      return list != nullptr && is_open(settings_, list->hours, when) &&
             !present(all_calls(settings_, {id}), when).empty();
    });
  };
  std::optional<WallTime> when = at;
  while (when && *when - at < looked_ahead && !anybody(*when)) {
    when = next_edge(settings_, hours, *when);
  }
  return when && *when - at < looked_ahead ? when : std::nullopt;
}

}  // namespace ebbwatch
