#include "notifiers/retry_after.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <chrono>

#include "core/limits.h"

namespace ebbwatch {
namespace {

constexpr std::array<std::string_view, 12> months{"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                  "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
constexpr std::array<std::string_view, 7> days{"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};
constexpr std::array<std::string_view, 7> long_days{"Monday", "Tuesday",  "Wednesday", "Thursday",
                                                    "Friday", "Saturday", "Sunday"};

// Takes a text apart from the left; after the first failure everything fails.
class Reader {
 public:
  explicit Reader(std::string_view text) : left_(text) {}
  void word(std::string_view expected) {
    ok_ = ok_ && left_.starts_with(expected);
    if (ok_) left_.remove_prefix(expected.size());
  }
  template <std::size_t n>
  int one_of(const std::array<std::string_view, n>& words) {
    for (std::size_t i = 0; ok_ && i < n; ++i) {
      if (!left_.starts_with(words[i])) continue;
      left_.remove_prefix(words[i].size());
      return static_cast<int>(i);
    }
    ok_ = false;
    return 0;
  }
  int digits(std::size_t count) {
    int value = 0;
    if (ok_ && left_.size() >= count) {
      const auto* end = left_.data() + count;
      const auto read = std::from_chars(left_.data(), end, value);
      ok_ = read.ec == std::errc() && read.ptr == end && left_.front() != '-';
      left_.remove_prefix(count);
    } else {
      ok_ = false;
    }
    return value;
  }
  bool next_is(char c) const { return ok_ && !left_.empty() && left_.front() == c; }
  bool ended() const { return ok_ && left_.empty(); }

 private:
  std::string_view left_;
  bool ok_ = true;
};

struct Date {
  int year = 0, month = 0, day = 0, hour = 0, minute = 0, second = 0;
};

void read_time(Reader& in, Date& date) {
  date.hour = in.digits(2);
  in.word(":");
  date.minute = in.digits(2);
  in.word(":");
  date.second = in.digits(2);
}

// "Sun, 06 Nov 1994 08:49:37 GMT"
std::optional<Date> read_fixed(std::string_view text) {
  Reader in(text);
  Date date;
  in.one_of(days);
  in.word(", ");
  date.day = in.digits(2);
  in.word(" ");
  date.month = in.one_of(months) + 1;
  in.word(" ");
  date.year = in.digits(4);
  in.word(" ");
  read_time(in, date);
  in.word(" GMT");
  return in.ended() ? std::optional(date) : std::nullopt;
}

// "Sunday, 06-Nov-94 08:49:37 GMT"
std::optional<Date> read_rfc850(std::string_view text, WallTime now) {
  using namespace std::chrono;
  Reader in(text);
  Date date;
  in.one_of(long_days);
  in.word(", ");
  date.day = in.digits(2);
  in.word("-");
  date.month = in.one_of(months) + 1;
  in.word("-");
  const int short_year = in.digits(2);
  in.word(" ");
  read_time(in, date);
  in.word(" GMT");
  const auto today = floor<std::chrono::days>(sys_time<microseconds>(microseconds(now.us)));
  const int this_year = static_cast<int>(year_month_day(today).year());
  date.year = this_year - this_year % 100 + short_year;
  if (date.year > this_year + 50) date.year -= 100;
  return in.ended() ? std::optional(date) : std::nullopt;
}

// "Sun Nov  6 08:49:37 1994"
std::optional<Date> read_asctime(std::string_view text) {
  Reader in(text);
  Date date;
  in.one_of(days);
  in.word(" ");
  date.month = in.one_of(months) + 1;
  in.word(" ");
  const bool padded = in.next_is(' ');
  if (padded) in.word(" ");
  date.day = in.digits(padded ? 1 : 2);
  in.word(" ");
  read_time(in, date);
  in.word(" ");
  date.year = in.digits(4);
  return in.ended() ? std::optional(date) : std::nullopt;
}

std::optional<WallTime> to_wall_time(const Date& date) {
  using namespace std::chrono;
  const year_month_day day(year(date.year), month(static_cast<unsigned>(date.month)),
                           std::chrono::day(static_cast<unsigned>(date.day)));
  if (!day.ok() || date.hour > 23 || date.minute > 59 || date.second > 60) return std::nullopt;
  const auto at = sys_days(day) + hours(date.hour) + minutes(date.minute) + seconds(date.second);
  return WallTime{microseconds(at.time_since_epoch()).count()};
}

}  // namespace

std::optional<WallTime> parse_http_date(std::string_view text, WallTime now) {
  auto date = read_fixed(text);
  if (!date) date = read_rfc850(text, now);
  if (!date) date = read_asctime(text);
  return date ? to_wall_time(*date) : std::nullopt;
}

std::optional<Span> parse_retry_after(std::string_view value, WallTime now) {
  constexpr Span longest = limits::retry_after_max;
  const bool all_digits = !value.empty() && std::all_of(value.begin(), value.end(), [](char c) {
    return c >= '0' && c <= '9';
  });
  if (all_digits) {
    std::int64_t seconds = 0;
    const auto read = std::from_chars(value.data(), value.data() + value.size(), seconds);
    const bool huge = read.ec != std::errc() || seconds > longest.us / 1'000'000;
    return huge ? longest : Span::of_s(seconds);
  }
  const auto date = parse_http_date(value, now);
  if (!date) return std::nullopt;
  return std::clamp(*date - now, Span{}, longest);
}

}  // namespace ebbwatch
