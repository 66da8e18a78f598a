#include "app/reading_book.h"

#include <algorithm>
#include <boost/json/array.hpp>
#include <boost/json/object.hpp>
#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <cmath>
#include <utility>

#include "core/watch.h"
#include "notices/reading_news.h"

namespace ebbwatch {
namespace {

namespace json = boost::json;

json::value time_or_null(Instant at, const Clock& clock) {
  return at.is_never() ? json::value(nullptr) : json::value(clock.to_wall(at).us);
}

Instant instant_in(const json::object& from, const char* key, const Clock& clock) {
  const json::value* found = from.if_contains(key);
  if (found == nullptr || !found->is_int64()) return Instant::never();
  return std::min(clock.to_instant(WallTime{found->get_int64()}), clock.now());
}

double number_in(const json::object& from, const char* key) {
  const json::value* found = from.if_contains(key);
  return found != nullptr && found->is_number() ? found->to_number<double>() : 0;
}

std::vector<double> numbers_in(const json::object& from, const char* key, std::size_t most) {
  std::vector<double> numbers;
  const json::value* found = from.if_contains(key);
  if (found == nullptr || !found->is_array()) return numbers;
  for (const json::value& one : found->get_array()) {
    if (one.is_number() && numbers.size() < most) numbers.push_back(one.to_number<double>());
  }
  return numbers;
}

std::string learnt_json(const ReadingMemory& memory, const Clock& clock) {
  json::object out{{"same_since", time_or_null(memory.same_since, clock)},
                   {"hour_began", time_or_null(memory.hour_began, clock)},
                   {"hour_sum", memory.hour_sum},
                   {"hour_count", memory.hour_count},
                   {"hours", json::array(memory.hours.begin(), memory.hours.end())},
                   {"days", json::array(memory.days.begin(), memory.days.end())}};
  if (memory.value) out["value"] = *memory.value;
  return json::serialize(out);
}

ReadingState state_of(const std::string& text) {
  for (const ReadingState state :
       {ReadingState::low, ReadingState::high, ReadingState::below_usual, ReadingState::above_usual,
        ReadingState::unchanged, ReadingState::missing}) {
    if (text == word(state)) return state;
  }
  return ReadingState::normal;
}

/// What cannot be read counts as not learnt.
ReadingMemory memory_of(const ReadingRow& row, const Clock& clock) {
  ReadingMemory memory;
  memory.state = state_of(row.state);
  memory.since = std::min(clock.to_instant(row.since), clock.now());
  memory.bound = row.bound;
  boost::system::error_code error;
  const json::value parsed = json::parse(row.learnt_json, error);
  const json::object* from = error ? nullptr : parsed.if_object();
  if (from == nullptr) return memory;
  if (from->contains("value")) memory.value = number_in(*from, "value");
  memory.same_since = instant_in(*from, "same_since", clock);
  memory.hour_began = instant_in(*from, "hour_began", clock);
  memory.hour_sum = number_in(*from, "hour_sum");
  memory.hour_count =
      static_cast<std::uint32_t>(std::clamp(number_in(*from, "hour_count"), 0.0, 1e9));
  memory.hours = numbers_in(*from, "hours", 2 * ReadingJudge::day_hours - 1);
  memory.days = numbers_in(*from, "days", ReadingJudge::week_days);
  return memory;
}

}  // namespace

std::optional<double> value_in(const ParsedCheckIn& parsed, const std::string& name) {
  for (const Reading& one : parsed.readings) {
    const bool same = one.part.empty()
                          ? one.name == name
                          : name.size() == one.name.size() + 1 + one.part.size() &&
                                name.starts_with(one.name + ".") && name.ends_with(one.part);
    const double* value = same ? std::get_if<double>(&one.value) : nullptr;
    if (value != nullptr && std::isfinite(*value)) return *value;
  }
  return std::nullopt;
}

std::vector<ReadingBook::Entry> ReadingBook::use(const Settings& settings, const WatchPlan& plan) {
  std::vector<Entry> before = std::exchange(entries_, {});
  of_.assign(plan.controllers.size(), {0, 0});
  std::uint32_t index = 0;
  for (const SiteSettings& site : settings.sites) {
    for (const TankSettings& tank : site.tanks) {
      for (const ControllerSettings& controller : tank.controllers) {
        of_[index].first = entries_.size();
        for (const ReadingSettings& reading : controller.readings) {
          Entry entry{reading.name,
                      controller.id,
                      {index},
                      plan.controllers[index].tank,
                      reading.limits,
                      ReadingJudge(reading.limits),
                      0,
                      false,
                      false,
                      Instant::never()};
          const auto same = [&](const Entry& old) {
            return old.controller == entry.controller && old.name == entry.name;
          };
          const auto old = std::find_if(before.begin(), before.end(), same);
          if (old != before.end()) {
            entry.judge = ReadingJudge(reading.limits, old->judge.memory());
            entry.outage = old->outage;
            entry.told = old->told;
            entry.taken = old->taken;
            before.erase(old);
          }
          entries_.push_back(std::move(entry));
        }
        of_[index].second = entries_.size();
        ++index;
      }
    }
  }
  std::erase_if(before, [](const Entry& entry) { return entry.outage == 0; });
  return before;
}

void ReadingBook::restore(const std::vector<ReadingRow>& rows, const Clock& clock) {
  for (Entry& entry : entries_) {
    const auto same = [&](const ReadingRow& row) {
      return row.controller == entry.controller && row.reading == entry.name;
    };
    const auto row = std::find_if(rows.begin(), rows.end(), same);
    if (row == rows.end()) continue;
    entry.judge = ReadingJudge(entry.limits, memory_of(*row, clock));
    entry.outage = row->outage;
    entry.told = row->told;
    entry.taken = row->taken;
    entry.stored_hour = entry.judge.memory().hour_began;
  }
}

std::vector<ReadingBook::Step> ReadingBook::check_in(ControllerIndex controller,
                                                     const ParsedCheckIn& parsed, Instant at) {
  std::vector<Step> steps;
  const auto [from, to] = of_[controller.value];
  for (std::size_t i = from; i < to; ++i) {
    Entry& entry = entries_[i];
    const auto value = value_in(parsed, entry.name);
    const auto change = value ? entry.judge.value(at, *value) : entry.judge.absent(at);
    if (change) steps.push_back({entry, *change});
  }
  return steps;
}

std::vector<ReadingRow> ReadingBook::take_learnt(ControllerIndex controller, const Clock& clock) {
  std::vector<ReadingRow> rows;
  const auto [from, to] = of_[controller.value];
  for (std::size_t i = from; i < to; ++i) {
    Entry& entry = entries_[i];
    const Instant hour = entry.judge.memory().hour_began;
    if (hour == entry.stored_hour) continue;
    entry.stored_hour = hour;
    rows.push_back(to_row(entry, clock));
  }
  return rows;
}

ReadingBook::Entry* ReadingBook::alarm(OutageId outage) {
  return const_cast<Entry*>(std::as_const(*this).alarm(outage));
}

const ReadingBook::Entry* ReadingBook::alarm(OutageId outage) const {
  if (outage == 0) return nullptr;
  for (const Entry& entry : entries_) {
    if (entry.outage == outage) return &entry;
  }
  return nullptr;
}

std::vector<const ReadingBook::Entry*> ReadingBook::alarms() const {
  std::vector<const Entry*> running;
  for (const Entry& entry : entries_) {
    if (entry.outage != 0) running.push_back(&entry);
  }
  return running;
}

ReadingRow to_row(const ReadingBook::Entry& entry, const Clock& clock) {
  const ReadingMemory& memory = entry.judge.memory();
  ReadingRow row;
  row.controller = entry.controller;
  row.reading = entry.name;
  row.state = word(memory.state);
  row.since = clock.to_wall(memory.since);
  row.bound = memory.bound;
  row.outage = entry.outage;
  row.told = entry.told;
  row.taken = entry.taken;
  row.learnt_json = learnt_json(memory, clock);
  return row;
}

const char* alarm_word(const ReadingBook::Entry& entry) {
  if (entry.outage == 0) return word(AlarmState::normal);
  if (!entry.told) return word(AlarmState::shelved);
  return word(entry.taken ? AlarmState::acknowledged : AlarmState::unacknowledged);
}

std::string reading_words(const ReadingBook::Entry& entry, const Clock& clock) {
  const ReadingMemory& memory = entry.judge.memory();
  Story story;
  story.kind = DecisionKind::loss;
  story.since = clock.to_wall(memory.since);
  const bool of_usual =
      memory.state == ReadingState::above_usual || memory.state == ReadingState::below_usual;
  story.reading = {entry.name, entry.controller, memory.state,
                   of_usual ? entry.judge.of_a_day() : memory.value, memory.bound};
  return reading_news(Speech(Language::english, clock.wall_now()), story);
}

}  // namespace ebbwatch
