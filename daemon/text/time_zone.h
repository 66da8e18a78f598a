// The time of day where somebody lives: IANA time zones as compiled files carry them (TZif, RFC
// 9636). Pure: the caller reads the file.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>

#include "core/result.h"
#include "core/time.h"

namespace ebbwatch {

/// What a clock and a calendar on the wall show.
struct LocalTime {
  std::int64_t day = 0;     ///< Since 1970-01-01.
  std::int32_t minute = 0;  ///< Of the day, 0..1439.
  int weekday = 0;          ///< 0: Monday.
};

class TimeZone {
 public:
  /// UTC.
  TimeZone();
  /// @param tzif the whole file; version 2 or later. Errors: bad_input.
  static Result<TimeZone> read(std::string name, std::string_view tzif);

  /// As given to read(), "Europe/Berlin"; "UTC" by default.
  const std::string& name() const { return name_; }
  /// How far clocks are ahead of UTC at this moment.
  Span offset_at(WallTime time) const;
  LocalTime local(WallTime time) const;
  /// The first moment after `after` at which clocks show this minute of a day. A time that is left
  /// out in spring comes at the moment of the change; one that comes twice in autumn, the first
  /// time.
  WallTime next(std::int32_t minute, WallTime after) const;

 private:
  struct Rules;
  WallTime moment(std::int64_t day, std::int32_t minute) const;

  std::string name_;
  std::shared_ptr<const Rules> rules_;  ///< Never changed: copies share it.
};

/// Day since 1970-01-01 of a date of the Gregorian calendar.
std::int64_t day_of(int year, unsigned month, unsigned day);

}  // namespace ebbwatch
