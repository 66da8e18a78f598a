#include "core/reading_judge.h"

#include <cmath>
#include <numeric>
#include <utility>

namespace ebbwatch {
namespace {

constexpr Span hour = Span::of_h(1);
/// An alarm about the usual value ends within this part of what raised it.
constexpr double usual_deadband = 0.5;

/// @pre from < to
double mean(std::vector<double>::const_iterator from, std::vector<double>::const_iterator to) {
  return std::accumulate(from, to, 0.0) / static_cast<double>(to - from);
}

bool is_of_usual(ReadingState state) {
  return state == ReadingState::below_usual || state == ReadingState::above_usual;
}

}  // namespace

const char* word(ReadingState state) {
  switch (state) {
    case ReadingState::normal:
      return "normal";
    case ReadingState::low:
      return "low";
    case ReadingState::high:
      return "high";
    case ReadingState::below_usual:
      return "below_usual";
    case ReadingState::above_usual:
      return "above_usual";
    case ReadingState::unchanged:
      return "unchanged";
    case ReadingState::missing:
      return "missing";
  }
  return "normal";
}

ReadingJudge::ReadingJudge(const ReadingLimits& limits, ReadingMemory memory)
    : limits_(limits), memory_(std::move(memory)), pending_(memory_.state) {}

std::optional<double> ReadingJudge::usual() const {
  if (memory_.days.size() < days_needed) return std::nullopt;
  return mean(memory_.days.begin(), memory_.days.end());
}

std::optional<double> ReadingJudge::of_a_day() const {
  if (memory_.hours.size() < day_hours) return std::nullopt;
  return mean(memory_.hours.end() - static_cast<std::ptrdiff_t>(day_hours), memory_.hours.end());
}

// Hours are counted while values come. The older half of two days becomes one of the days.
void ReadingJudge::learn(Instant at, double value) {
  if (memory_.hour_began.is_never() || at - memory_.hour_began >= hour) {
    if (memory_.hour_count > 0) memory_.hours.push_back(memory_.hour_sum / memory_.hour_count);
    memory_.hour_began = at;
    memory_.hour_sum = 0;
    memory_.hour_count = 0;
  }
  memory_.hour_sum += value;
  ++memory_.hour_count;
  auto& hours = memory_.hours;
  if (hours.size() < 2 * day_hours) return;
  const auto day = hours.begin() + static_cast<std::ptrdiff_t>(day_hours);
  memory_.days.push_back(mean(hours.begin(), day));
  hours.erase(hours.begin(), day);
  if (memory_.days.size() > week_days) memory_.days.erase(memory_.days.begin());
}

ReadingState ReadingJudge::by_limits(double value) const {
  const bool is_low = memory_.state == ReadingState::low;
  const bool is_high = memory_.state == ReadingState::high;
  if (limits_.low && value < *limits_.low + (is_low ? limits_.deadband : 0)) {
    return ReadingState::low;
  }
  if (limits_.high && value > *limits_.high - (is_high ? limits_.deadband : 0)) {
    return ReadingState::high;
  }
  return ReadingState::normal;
}

ReadingState ReadingJudge::by_usual() const {
  const auto day = of_a_day(), week = usual();
  if (!day || !week) {
    return is_of_usual(memory_.state) ? memory_.state : ReadingState::normal;
  }
  const double part = *day - *week, size = std::fabs(*week);
  const auto beyond = [&](const std::optional<double>& share, ReadingState state, double over) {
    const double needed = memory_.state == state ? usual_deadband : 1;
    return share && over > *share * needed * size;
  };
  if (beyond(limits_.above_usual, ReadingState::above_usual, part)) {
    return ReadingState::above_usual;
  }
  if (beyond(limits_.below_usual, ReadingState::below_usual, -part)) {
    return ReadingState::below_usual;
  }
  return ReadingState::normal;
}

ReadingState ReadingJudge::condition(Instant at, double value) const {
  if (const ReadingState found = by_limits(value); found != ReadingState::normal) return found;
  if (limits_.unchanged_for && at - memory_.same_since >= *limits_.unchanged_for) {
    return ReadingState::unchanged;
  }
  return by_usual();
}

double ReadingJudge::bound_of(ReadingState state) const {
  switch (state) {
    case ReadingState::low:
      return limits_.low.value_or(0);
    case ReadingState::high:
      return limits_.high.value_or(0);
    case ReadingState::below_usual:
    case ReadingState::above_usual:
      return usual().value_or(0);
    case ReadingState::normal:
    case ReadingState::unchanged:
    case ReadingState::missing:
      break;
  }
  return 0;
}

std::optional<ReadingChange> ReadingJudge::consider(Instant at, ReadingState condition,
                                                    Instant began, bool at_once) {
  if (condition == memory_.state) {
    pending_ = condition;
    return std::nullopt;
  }
  if (condition != pending_) {
    pending_ = condition;
    pending_since_ = began;
  }
  const bool back = condition == ReadingState::normal;
  const Span delay = at_once ? Span{} : back ? limits_.off_delay : limits_.on_delay;
  if (at - pending_since_ < delay) return std::nullopt;
  ReadingChange change{memory_.state, condition, at, pending_since_, memory_.value, 0};
  change.bound = bound_of(back ? memory_.state : condition);
  if (is_of_usual(back ? memory_.state : condition)) change.value = of_a_day();
  memory_.state = condition;
  memory_.since = pending_since_;
  memory_.bound = change.bound;
  return change;
}

std::optional<ReadingChange> ReadingJudge::value(Instant at, double value) {
  absent_since_ = Instant::never();
  if (!memory_.value || *memory_.value != value || memory_.same_since.is_never()) {
    memory_.same_since = at;
  }
  memory_.value = value;
  if (limits_.above_usual || limits_.below_usual) learn(at, value);
  const ReadingState found = condition(at, value);
  // These have lasted long enough already when they are seen.
  const bool at_once = found == ReadingState::unchanged || is_of_usual(found) ||
                       (is_of_usual(memory_.state) && found == ReadingState::normal);
  return consider(at, found, found == ReadingState::unchanged ? memory_.same_since : at, at_once);
}

std::optional<ReadingChange> ReadingJudge::absent(Instant at) {
  if (absent_since_.is_never()) absent_since_ = at;
  if (at - absent_since_ < limits_.missing_for) return std::nullopt;
  return consider(at, ReadingState::missing, absent_since_, true);
}

}  // namespace ebbwatch
