#include "text/time_zone_rule.h"

#include "text/time_zone.h"

namespace ebbwatch {
namespace {

constexpr std::int64_t day_s = 86'400;

bool is_leap(int year) {
  return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}
int days_in(int year, int month) {
  constexpr int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  return month == 2 && is_leap(year) ? 29 : days[month - 1];
}
int year_at(std::int64_t utc_s) {
  // A guess that is at most one year off, then put right.
  auto year = static_cast<int>(1970 + utc_s / (day_s * 365));
  while (day_of(year, 1, 1) * day_s > utc_s) --year;
  while (day_of(year + 1, 1, 1) * day_s <= utc_s) ++year;
  return year;
}

}  // namespace

std::int64_t day_of(int year, unsigned month, unsigned day) {
  // H. Hinnant, "chrono-Compatible Low-Level Date Algorithms", days_from_civil.
  const std::int64_t y = month <= 2 ? year - 1 : year;
  const std::int64_t era = (y >= 0 ? y : y - 399) / 400;
  const auto of_era = static_cast<unsigned>(y - era * 400);
  const unsigned of_year = (153 * (month > 2 ? month - 3 : month + 9) + 2) / 5 + day - 1;
  const unsigned days = of_era * 365 + of_era / 4 - of_era / 100 + of_year;
  return era * 146'097 + static_cast<std::int64_t>(days) - 719'468;
}

class ZoneRule::Parser {
 public:
  explicit Parser(std::string_view text) : rest_(text) {}
  bool at_end() const { return rest_.empty(); }
  bool skip(char c) {
    if (rest_.empty() || rest_.front() != c) return false;
    rest_.remove_prefix(1);
    return true;
  }
  /// "CET" or "<+0330>"
  bool name() {
    std::size_t size = 0;
    if (!rest_.empty() && rest_.front() == '<') {
      const std::size_t end = rest_.find('>');
      size = end == std::string_view::npos ? 0 : end + 1;
    } else {
      const auto is_letter = [](char c) {
        return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
      };
      while (size < rest_.size() && is_letter(rest_[size])) ++size;
    }
    rest_.remove_prefix(size);
    return size >= 3;
  }
  std::optional<int> number(int least, int most) {
    int value = 0;
    std::size_t size = 0;
    while (size < rest_.size() && size < 4 && rest_[size] >= '0' && rest_[size] <= '9') {
      value = value * 10 + (rest_[size++] - '0');
    }
    rest_.remove_prefix(size);
    if (size == 0 || value < least || value > most) return std::nullopt;
    return value;
  }
  /// "-1", "3:30", "167:00:00" in seconds.
  std::optional<std::int64_t> time() {
    const bool minus = skip('-');
    if (!minus) (void)skip('+');
    const auto hours = number(0, 167);
    if (!hours) return std::nullopt;
    std::int64_t seconds = *hours * std::int64_t{3600};
    for (const int unit : {60, 1}) {
      if (!skip(':')) break;
      const auto part = number(0, 59);
      if (!part) return std::nullopt;
      seconds += *part * unit;
    }
    return minus ? -seconds : seconds;
  }
  std::optional<Date> date() {
    Date out;
    if (skip('M')) {
      const auto month = number(1, 12);
      if (!month || !skip('.')) return std::nullopt;
      const auto week = number(1, 5);
      if (!week || !skip('.')) return std::nullopt;
      const auto day = number(0, 6);
      if (!day) return std::nullopt;
      out.month = *month, out.week = *week, out.day = *day;
    } else {
      const bool julian = skip('J');
      out.kind = julian ? Date::Kind::julian : Date::Kind::day_of_year;
      const auto day = number(julian ? 1 : 0, 365);
      if (!day) return std::nullopt;
      out.day = *day;
    }
    if (!skip('/')) return out;
    const auto at = time();
    if (!at) return std::nullopt;
    out.time_s = *at;
    return out;
  }

 private:
  std::string_view rest_;
};

std::optional<ZoneRule> ZoneRule::parse(std::string_view text) {
  Parser from(text);
  ZoneRule rule;
  if (!from.name()) return std::nullopt;
  // In this form what is west of Greenwich counts up.
  const auto west = from.time();
  if (!west) return std::nullopt;
  rule.standard_s_ = -*west;
  if (from.at_end()) return rule;
  if (!from.name()) return std::nullopt;
  rule.has_summer_ = true;
  rule.summer_s_ = rule.standard_s_ + 3600;
  if (!from.skip(',')) {
    const auto summer_west = from.time();
    if (!summer_west || !from.skip(',')) return std::nullopt;
    rule.summer_s_ = -*summer_west;
  }
  const auto begin = from.date();
  if (!begin || !from.skip(',')) return std::nullopt;
  const auto end = from.date();
  if (!end || !from.at_end()) return std::nullopt;
  rule.begin_ = *begin;
  rule.end_ = *end;
  return rule;
}

std::int64_t ZoneRule::Date::local_s(int year) const {
  if (kind == Kind::julian) {
    // The 29th of February is never counted.
    const int skipped = is_leap(year) && day >= 60 ? 1 : 0;
    return (day_of(year, 1, 1) + day - 1 + skipped) * day_s + time_s;
  }
  if (kind == Kind::day_of_year) return (day_of(year, 1, 1) + day) * day_s + time_s;
  const std::int64_t first = day_of(year, static_cast<unsigned>(month), 1);
  const auto weekday = static_cast<int>(((first + 4) % 7 + 7) % 7);  // 0: Sunday, as in the rule.
  int of_month = (day - weekday + 7) % 7 + (week - 1) * 7;
  while (of_month >= days_in(year, month)) of_month -= 7;
  return (first + of_month) * day_s + time_s;
}

std::int64_t ZoneRule::offset_at(std::int64_t utc_s) const {
  if (!has_summer_) return standard_s_;
  const int year = year_at(utc_s + standard_s_);
  const std::int64_t begin = begin_.local_s(year) - standard_s_;
  const std::int64_t end = end_.local_s(year) - summer_s_;
  const bool summer = begin < end ? utc_s >= begin && utc_s < end : utc_s >= begin || utc_s < end;
  return summer ? summer_s_ : standard_s_;
}

}  // namespace ebbwatch
