#include "text/rfc3339.h"

#include <array>
#include <chrono>
#include <cstdint>
#include <cstdio>
#include <ctime>

namespace ebbwatch {
namespace {

constexpr std::int64_t us_per_s = 1'000'000;
constexpr std::int64_t us_per_day = 86'400 * us_per_s;
constexpr std::array<const char*, 12> months{"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                             "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};

struct Parts {
  int year;
  unsigned month, day, weekday;  // Sunday is 0.
  int hour, minute, second, ms;
};

std::int64_t floor_divide(std::int64_t a, std::int64_t b) {
  return a / b - (a % b != 0 && (a < 0) != (b < 0) ? 1 : 0);
}

Parts parts_of(WallTime time) {
  const std::int64_t days = floor_divide(time.us, us_per_day);
  const std::int64_t us = time.us - days * us_per_day;
  const std::chrono::sys_days date{std::chrono::days{days}};
  const std::chrono::year_month_day ymd{date};
  const auto s = static_cast<int>(us / us_per_s);
  return {static_cast<int>(ymd.year()),
          static_cast<unsigned>(ymd.month()),
          static_cast<unsigned>(ymd.day()),
          std::chrono::weekday{date}.c_encoding(),
          s / 3600,
          s / 60 % 60,
          s % 60,
          static_cast<int>(us % us_per_s / 1000)};
}

// Walks over the text; the first thing that does not fit makes it fail for good.
class Scanner {
 public:
  explicit Scanner(std::string_view text) : text_(text) {}

  int digits(int count) {
    int value = 0;
    for (int i = 0; i < count; ++i) {
      if (!at_digit()) return failed_ = true, 0;
      value = value * 10 + (text_[next_++] - '0');
    }
    return value;
  }
  char one_of(std::string_view allowed) {
    if (next_ < text_.size() && allowed.find(text_[next_]) != allowed.npos) return text_[next_++];
    failed_ = true;
    return '\0';
  }
  // "." and 1 to 9 digits, if there is a point; cut to microseconds.
  std::int64_t fraction_us() {
    if (next_ >= text_.size() || text_[next_] != '.') return 0;
    ++next_;
    std::int64_t ns = 0;
    int count = 0;
    for (; at_digit() && count < 9; ++count) ns = ns * 10 + (text_[next_++] - '0');
    if (count == 0) failed_ = true;
    for (; count < 9; ++count) ns *= 10;
    return ns / 1000;
  }
  bool done() const { return !failed_ && next_ == text_.size(); }

 private:
  bool at_digit() const {
    return next_ < text_.size() && text_[next_] >= '0' && text_[next_] <= '9';
  }
  std::string_view text_;
  std::size_t next_ = 0;
  bool failed_ = false;
};

}  // namespace

std::string to_rfc3339(WallTime time) {
  const Parts p = parts_of(time);
  std::array<char, 64> text{};
  std::snprintf(text.data(), text.size(), "%04d-%02u-%02uT%02d:%02d:%02d.%03dZ", p.year, p.month,
                p.day, p.hour, p.minute, p.second, p.ms);
  return text.data();
}

std::optional<WallTime> from_rfc3339(std::string_view text) {
  Scanner scan(text);
  const int year = scan.digits(4);
  scan.one_of("-");
  const int month = scan.digits(2);
  scan.one_of("-");
  const int day = scan.digits(2);
  scan.one_of("Tt");
  const int hour = scan.digits(2);
  scan.one_of(":");
  const int minute = scan.digits(2);
  scan.one_of(":");
  const int second = scan.digits(2);
  const std::int64_t fraction = scan.fraction_us();
  const char zone = scan.one_of("Zz+-");
  int offset_min = 0;
  if (zone == '+' || zone == '-') {
    const int offset_h = scan.digits(2);
    scan.one_of(":");
    const int minutes = scan.digits(2);
    if (offset_h > 23 || minutes > 59) return std::nullopt;
    offset_min = (offset_h * 60 + minutes) * (zone == '-' ? -1 : 1);
  }
  const std::chrono::year_month_day date{std::chrono::year{year},
                                         std::chrono::month{static_cast<unsigned>(month)},
                                         std::chrono::day{static_cast<unsigned>(day)}};
  if (!scan.done() || !date.ok() || hour > 23 || minute > 59 || second > 60) return std::nullopt;
  const std::int64_t days = std::chrono::sys_days{date}.time_since_epoch().count();
  const std::int64_t minutes = days * 1440 + hour * 60 + minute - offset_min;
  // A leap second ends a UTC day; it reads as the first second of the next one.
  if (second == 60 && floor_divide(minutes + 1, 1440) * 1440 != minutes + 1) return std::nullopt;
  return WallTime{(minutes * 60 + second) * us_per_s + fraction};
}

std::string to_mail_date(WallTime time) {
  constexpr std::array<const char*, 7> weekdays{"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
  const Parts p = parts_of(time);
  std::array<char, 64> text{};
  std::snprintf(text.data(), text.size(), "%s, %02u %s %04d %02d:%02d:%02d +0000",
                weekdays.at(p.weekday), p.day, months.at(p.month - 1), p.year, p.hour, p.minute,
                p.second);
  return text.data();
}

std::string time_of_day(WallTime time, WallTime now) {
  const std::time_t seconds = floor_divide(time.us, us_per_s);
  std::tm local{};
  if (localtime_r(&seconds, &local) == nullptr) return to_rfc3339(time);
  const Span apart = time < now ? now - time : time - now;
  std::array<char, 64> text{};
  if (apart > told_without_date) {
    std::snprintf(text.data(), text.size(), "%d %s %02d:%02d", local.tm_mday,
                  months.at(static_cast<std::size_t>(local.tm_mon)), local.tm_hour, local.tm_min);
  } else {
    std::snprintf(text.data(), text.size(), "%02d:%02d", local.tm_hour, local.tm_min);
  }
  return text.data();
}

}  // namespace ebbwatch
