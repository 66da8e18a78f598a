// The rule at the end of a time zone file, for all times after those that it lists: the POSIX TZ
// form with the extensions of RFC 9636 §3.3.1, "CET-1CEST,M3.5.0,M10.5.0/3". Private to time_zone.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

namespace ebbwatch {

class ZoneRule {
 public:
  /// Empty when malformed.
  static std::optional<ZoneRule> parse(std::string_view text);
  /// Seconds ahead of UTC.
  std::int64_t offset_at(std::int64_t utc_s) const;

 private:
  /// When in a year a change comes.
  struct Date {
    enum class Kind : std::uint8_t { month_week_day, julian, day_of_year };
    Kind kind = Kind::month_week_day;
    int month = 0, week = 0, day = 0;
    std::int64_t time_s = 7200;  ///< After local midnight; may be negative or over a day.
    std::int64_t local_s(int year) const;
  };
  class Parser;

  std::int64_t standard_s_ = 0, summer_s_ = 0;
  bool has_summer_ = false;
  Date begin_, end_;
};

}  // namespace ebbwatch
