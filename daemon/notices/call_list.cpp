#include "notices/call_list.h"

#include <algorithm>
#include <charconv>

#include "notices/duty.h"

namespace ebbwatch {
namespace {

struct TimedStep {
  Span due;  // After started_at.
  bool first = false;
  const CallStep* step = nullptr;
};

std::vector<TimedStep> timed_steps(const CallState& state, const Settings& settings) {
  std::vector<TimedStep> steps;
  for (const JoinedList& joined : state.lists) {
    const CallListSettings* list = find_list(settings, joined.id);
    if (list == nullptr) continue;
    for (const CallStep& step : list->steps) {
      const bool first = step.after == list->steps.front().after;
      steps.push_back({joined.joined_after + step.after, first, &step});
    }
  }
  std::stable_sort(steps.begin(), steps.end(),
                   [](const TimedStep& a, const TimedStep& b) { return a.due < b.due; });
  return steps;
}

const CallListSettings* repeating_list(const CallState& state, const Settings& settings) {
  for (const JoinedList& joined : state.lists) {
    const CallListSettings* list = find_list(settings, joined.id);
    if (list != nullptr && list->repeat_every && list->repeat_every->us > 0) return list;
  }
  return nullptr;
}

bool stopped(const CallState& state) {
  return state.acknowledged || state.closed;
}

std::optional<WallTime> reminder_at(const CallState& state, const Settings& settings,
                                    const std::vector<TimedStep>& steps) {
  const CallListSettings* list = repeating_list(state, settings);
  if (list == nullptr || steps.empty() || state.repeats >= list->repeat_at_most) return {};
  return state.started_at + steps.back().due + *list->repeat_every * (state.repeats + 1);
}

CallTurn turn_of(const CallState& state, const TimedStep& timed) {
  CallTurn turn;
  turn.resumption = state.resumptions;
  if (!timed.first) {
    turn.occasion = Occasion::later_step;
  } else {
    turn.occasion = state.resumptions > 0 ? Occasion::resumed : Occasion::first;
  }
  for (const std::string& keyholder : timed.step->tell) {
    add_call(turn.calls, keyholder, timed.step->by);
  }
  return turn;
}

CallTurn take_reminder(CallState& state, const Settings& settings,
                       const std::vector<TimedStep>& steps, WallTime now) {
  ++state.repeats;
  CallTurn turn;
  turn.occasion = Occasion::reminder;
  turn.round = state.repeats;
  turn.resumption = state.resumptions;
  for (const TimedStep& timed : steps) {
    for (const std::string& keyholder : timed.step->tell) {
      add_call(turn.calls, keyholder, timed.step->by);
    }
  }
  auto next = reminder_at(state, settings, steps);
  while (next && *next <= now) {
    ++state.repeats;
    next = reminder_at(state, settings, steps);
  }
  return turn;
}

bool has_joined(const CallState& state, const std::string& id) {
  return std::any_of(state.lists.begin(), state.lists.end(),
                     [&](const JoinedList& joined) { return joined.id == id; });
}

struct Handing {
  WallTime at;
  std::string list;
};

// When the hours of a list end and another one joins.
std::optional<Handing> next_handing(const CallState& state, const Settings& settings) {
  std::optional<Handing> next;
  for (const JoinedList& joined : state.lists) {
    const CallListSettings* list = find_list(settings, joined.id);
    if (list == nullptr || !list->otherwise || has_joined(state, *list->otherwise)) continue;
    const WallTime from = state.started_at + joined.joined_after;
    if (!is_open(settings, list->hours, from)) continue;
    const auto at = next_change(settings, list->hours, from);
    if (at && (!next || *at < next->at)) next = Handing{*at, *list->otherwise};
  }
  return next;
}

std::optional<WallTime> next_step_at(const CallState& state, const Settings& settings,
                                     const std::vector<TimedStep>& steps) {
  if (state.next_step < steps.size()) return state.started_at + steps[state.next_step].due;
  return reminder_at(state, settings, steps);
}

}  // namespace

const CallListSettings* find_list(const Settings& settings, const std::string& id) {
  for (const CallListSettings& list : settings.call_lists) {
    if (list.id == id) return &list;
  }
  return nullptr;
}

void add_call(std::vector<Call>& calls, const std::string& keyholder,
              const std::vector<std::string>& by) {
  auto same = std::find_if(calls.begin(), calls.end(),
                           [&](const Call& call) { return call.keyholder == keyholder; });
  if (same == calls.end()) same = calls.insert(calls.end(), Call{keyholder, {}});
  for (const std::string& way : by) {
    if (std::find(same->by.begin(), same->by.end(), way) == same->by.end()) {
      same->by.push_back(way);
    }
  }
}

void take_on(CallState& state, const Settings& settings, const std::string& by, WallTime now) {
  Span lasts = acknowledged_for_default;
  bool found = false;
  for (const JoinedList& joined : state.lists) {
    const CallListSettings* list = find_list(settings, joined.id);
    if (list == nullptr) continue;
    lasts = found ? std::min(lasts, list->acknowledged_for) : list->acknowledged_for;
    found = true;
  }
  state.acknowledged = true;
  state.acknowledged_by = by;
  state.acknowledged_at = now;
  state.acknowledged_until = now + lasts;
}

void stop_calls(CallState& state, WallTime now) {
  state.acknowledged = true;
  state.acknowledged_by.clear();
  state.acknowledged_at = now;
  state.acknowledged_until.reset();
}

void begin_again(CallState& state, const Settings& settings, WallTime now) {
  state.acknowledged = false;
  state.acknowledged_until.reset();
  ++state.resumptions;
  state.started_at = now;
  state.next_step = 0;
  state.repeats = 0;
  std::vector<std::string> lists;
  for (const JoinedList& joined : state.lists) lists.push_back(joined.id);
  state.lists.clear();
  for (const std::string& id : lists_used(settings, lists, now)) state.lists.push_back({id, {}});
}

std::optional<WallTime> next_turn_at(const CallState& state, const Settings& settings) {
  if (state.closed) return std::nullopt;
  if (state.acknowledged) return state.acknowledged_until;
  auto next = next_step_at(state, settings, timed_steps(state, settings));
  if (const auto handing = next_handing(state, settings)) {
    if (!next || handing->at < *next) next = handing->at;
  }
  return next;
}

std::optional<CallTurn> take_turn(CallState& state, const Settings& settings, WallTime now) {
  const bool run_out = state.acknowledged && state.acknowledged_until &&
                       *state.acknowledged_until <= now && !state.closed;
  if (run_out) begin_again(state, settings, now);
  if (stopped(state)) return std::nullopt;
  for (auto handing = next_handing(state, settings); handing && handing->at <= now;
       handing = next_handing(state, settings)) {
    (void)join_lists(state, {handing->list}, handing->at);
  }
  const auto due = next_step_at(state, settings, timed_steps(state, settings));
  if (!due || *due > now) return std::nullopt;
  const std::vector<TimedStep> steps = timed_steps(state, settings);
  if (state.next_step < steps.size()) return turn_of(state, steps[state.next_step++]);
  return take_reminder(state, settings, steps, now);
}

std::optional<CallTurn> take_step_early(CallState& state, const Settings& settings) {
  const std::vector<TimedStep> steps = timed_steps(state, settings);
  if (stopped(state) || state.next_step >= steps.size()) return std::nullopt;
  return turn_of(state, steps[state.next_step++]);
}

bool join_lists(CallState& state, const std::vector<std::string>& lists, WallTime now) {
  bool added = false;
  for (const std::string& id : lists) {
    if (has_joined(state, id)) continue;
    const std::int64_t seconds = std::max<std::int64_t>(0, (now - state.started_at).us / 1'000'000);
    state.lists.push_back({id, Span::of_s(seconds)});
    added = true;
  }
  if (added) {
    state.next_step = 0;
    state.acknowledged = false;
    state.acknowledged_by.clear();
    state.acknowledged_at.reset();
    state.acknowledged_until.reset();
  }
  return added;
}

std::vector<Call> first_calls(const Settings& settings, const std::vector<std::string>& lists) {
  std::vector<Call> calls;
  for (const std::string& id : lists) {
    const CallListSettings* list = find_list(settings, id);
    if (list == nullptr) continue;
    for (const CallStep& step : list->steps) {
      if (step.after != list->steps.front().after) continue;
      for (const std::string& keyholder : step.tell) add_call(calls, keyholder, step.by);
    }
  }
  return calls;
}

std::vector<Call> all_calls(const Settings& settings, const std::vector<std::string>& lists) {
  std::vector<Call> calls;
  for (const std::string& id : lists) {
    const CallListSettings* list = find_list(settings, id);
    if (list == nullptr) continue;
    for (const CallStep& step : list->steps) {
      for (const std::string& keyholder : step.tell) add_call(calls, keyholder, step.by);
    }
  }
  return calls;
}

CallRow to_row(const CallState& state, const Settings& settings) {
  CallRow row;
  row.outage = state.outage;
  for (const JoinedList& joined : state.lists) {
    row.call_list += (row.call_list.empty() ? "" : ",") + joined.id;
    if (joined.joined_after.us > 0) {
      row.call_list += "@" + std::to_string(joined.joined_after.us / 1'000'000);
    }
  }
  row.next_step = state.next_step;
  row.repeats = state.repeats;
  row.next_at = next_turn_at(state, settings);
  row.started_at = state.started_at;
  row.acknowledged = state.acknowledged;
  row.acknowledged_by = state.acknowledged_by;
  row.acknowledged_at = state.acknowledged_at;
  row.acknowledged_until = state.acknowledged_until;
  row.resumptions = state.resumptions;
  row.closed = state.closed;
  return row;
}

CallState from_row(const CallRow& row) {
  CallState state;
  state.outage = row.outage;
  std::string_view rest = row.call_list;
  while (!rest.empty()) {
    const std::size_t end = std::min(rest.find(','), rest.size());
    const std::string_view part = rest.substr(0, end);
    const std::size_t at = std::min(part.find('@'), part.size());
    std::int64_t seconds = 0;
    if (at < part.size()) {
      const auto read = std::from_chars(part.data() + at + 1, part.data() + part.size(), seconds);
      if (read.ec != std::errc()) seconds = 0;
    }
    if (at > 0) state.lists.push_back({std::string(part.substr(0, at)), Span::of_s(seconds)});
    rest.remove_prefix(std::min(end + 1, rest.size()));
  }
  state.started_at = row.started_at;
  state.next_step = row.next_step;
  state.repeats = row.repeats;
  state.acknowledged = row.acknowledged;
  state.acknowledged_by = row.acknowledged_by;
  state.acknowledged_at = row.acknowledged_at;
  state.acknowledged_until = row.acknowledged_until;
  state.resumptions = row.resumptions;
  // Rows of earlier versions do not say when it runs out: it does so now rather than never.
  if (state.acknowledged && !state.acknowledged_at) state.acknowledged_until = state.started_at;
  state.closed = row.closed;
  return state;
}

}  // namespace ebbwatch
