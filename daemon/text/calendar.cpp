#include "text/calendar.h"

#include <array>
#include <charconv>
#include <ctime>

#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

std::tm local_parts(WallTime time) {
  const std::int64_t us = time.us;
  const std::int64_t seconds = us >= 0 ? us / 1'000'000 : -((-us + 999'999) / 1'000'000);
  const auto when = static_cast<std::time_t>(seconds);
  std::tm parts{};
  localtime_r(&when, &parts);
  return parts;
}

WallTime from_parts(std::tm parts) {
  parts.tm_isdst = -1;
  return WallTime{Span::of_s(std::mktime(&parts)).us};
}

std::string formatted(WallTime time, const char* form) {
  const std::tm parts = local_parts(time);
  std::array<char, 40> text{};
  const std::size_t length = std::strftime(text.data(), text.size(), form, &parts);
  return {text.data(), length};
}

int number(std::string_view digits) {
  int value = 0;
  std::from_chars(digits.data(), digits.data() + digits.size(), value);
  return value;
}

/// Midnight of "2026-11-25…". @pre it begins with a date.
std::tm date_parts(std::string_view day) {
  std::tm parts{};
  parts.tm_year = number(day.substr(0, 4)) - 1900;
  parts.tm_mon = number(day.substr(5, 2)) - 1;
  parts.tm_mday = number(day.substr(8, 2));
  return parts;
}

/// So many hours (under a day) or days apart.
struct Step {
  int hours = 0, days = 0;
};
constexpr Step steps[] = {{1, 0}, {2, 0}, {3, 0},  {6, 0},  {12, 0}, {0, 1},
                          {0, 2}, {0, 7}, {0, 14}, {0, 28}, {0, 91}, {0, 365}};

/// The midnight before, then on by whole steps: the clock on the wall stays round across a change
/// of summer time.
std::vector<TimeMark> marks_of(WallTime from, WallTime until, Step step, std::size_t at_most) {
  std::vector<TimeMark> marks;
  std::tm parts = local_parts(from);
  parts.tm_hour = parts.tm_min = parts.tm_sec = 0;
  for (;;) {
    const WallTime at = from_parts(parts);
    if (at > until) return marks;
    if (at >= from) {
      if (marks.size() == at_most) return {};
      const std::tm real = local_parts(at);
      const bool day = real.tm_hour == 0 && real.tm_min == 0;
      const std::string label = formatted(at, day ? "%d %b" : "%H:%M");
      marks.push_back({at, label.front() == '0' && day ? label.substr(1) : label});
    }
    parts.tm_hour += step.hours;
    parts.tm_mday += step.days;
  }
}

}  // namespace

std::optional<WallTime> local_day(std::string_view day, int days_later) {
  if (day.size() != 10 || !from_rfc3339(std::string(day) + "T00:00:00Z")) return std::nullopt;
  std::tm parts = date_parts(day);
  parts.tm_mday += days_later;
  return from_parts(parts);
}

std::optional<WallTime> local_moment(std::string_view text) {
  if (text.size() != 16 || !from_rfc3339(std::string(text) + ":00Z")) return std::nullopt;
  std::tm parts = date_parts(text);
  parts.tm_hour = number(text.substr(11, 2));
  parts.tm_min = number(text.substr(14, 2));
  return from_parts(parts);
}

std::optional<Month> local_month(std::string_view key) {
  if (key.size() != 7) return std::nullopt;
  const auto from = local_day(std::string(key) + "-01");
  if (!from) return std::nullopt;
  std::tm parts = local_parts(*from);
  parts.tm_mon += 1;
  return Month{*from, from_parts(parts), formatted(*from, "%B %Y"), std::string(key)};
}

std::string month_before(WallTime now) {
  std::tm parts = local_parts(now);
  parts.tm_mon -= 1;
  parts.tm_mday = 1;
  parts.tm_hour = 12;
  return formatted(from_parts(parts), "%Y-%m");
}

std::string local_minute(WallTime time) {
  return formatted(time, "%Y-%m-%d %H:%M");
}

std::vector<TimeMark> time_marks(WallTime from, WallTime until, std::size_t at_most) {
  for (const Step step : steps) {
    // Without walking through years of hours only to find that they are too many.
    const Span apart = Span::of_h(step.hours) + Span::of_days(step.days);
    if ((until - from).us / apart.us > static_cast<std::int64_t>(at_most)) continue;
    auto marks = marks_of(from, until, step, at_most);
    if (!marks.empty()) return marks;
  }
  return {};
}

}  // namespace ebbwatch
