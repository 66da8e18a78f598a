#include "text/time_zone.h"

#include <algorithm>
#include <optional>
#include <vector>

#include "text/time_zone_rule.h"

namespace ebbwatch {
namespace {

constexpr std::int64_t day_s = 86'400, second_us = 1'000'000;
constexpr std::size_t header_bytes = 44;
constexpr std::uint64_t counts_max = 100'000;  // Real files have some hundreds.

std::int64_t seconds_of(WallTime time) {
  const std::int64_t down = time.us < 0 ? second_us - 1 : 0;
  return (time.us - down) / second_us;
}

// Big-endian numbers at a place that was checked before.
std::int64_t number_at(std::string_view bytes, std::size_t at, std::size_t size) {
  std::uint64_t value = static_cast<unsigned char>(bytes[at]) >= 0x80 ? ~std::uint64_t{0} : 0;
  for (std::size_t i = 0; i < size; ++i) {
    value = value << 8U | static_cast<unsigned char>(bytes[at + i]);
  }
  return static_cast<std::int64_t>(value);
}

struct Header {
  std::uint64_t isut, isstd, leap, times, types, chars;
  /// Of the data block that follows. @param size of a time.
  std::uint64_t data_bytes(std::uint64_t size) const {
    return times * (size + 1) + types * 6 + chars + leap * (size + 4) + isstd + isut;
  }
};

std::optional<Header> header_at(std::string_view bytes, std::size_t at) {
  if (bytes.size() < at + header_bytes || bytes.substr(at, 4) != "TZif") return std::nullopt;
  if (bytes[at + 4] < '2') return std::nullopt;
  const auto count = [&](std::size_t i) {
    return static_cast<std::uint64_t>(number_at(bytes, at + 20 + 4 * i, 4)) & 0xffffffffU;
  };
  Header header{count(0), count(1), count(2), count(3), count(4), count(5)};
  for (std::uint64_t n :
       {header.isut, header.isstd, header.leap, header.times, header.types, header.chars}) {
    if (n > counts_max) return std::nullopt;
  }
  return header;
}

}  // namespace

struct TimeZone::Rules {
  struct Change {
    std::int64_t at_s, offset_s;
  };
  std::int64_t first_s = 0;  // Before all changes.
  std::vector<Change> changes;
  std::optional<ZoneRule> later;  // After the last of them.

  std::int64_t offset(std::int64_t utc_s) const {
    if (later && (changes.empty() || utc_s >= changes.back().at_s)) return later->offset_at(utc_s);
    const auto after =
        std::upper_bound(changes.begin(), changes.end(), utc_s,
                         [](std::int64_t at, const Change& change) { return at < change.at_s; });
    return after == changes.begin() ? first_s : std::prev(after)->offset_s;
  }
};

TimeZone::TimeZone() : name_("UTC"), rules_(std::make_shared<Rules>()) {}

Result<TimeZone> TimeZone::read(std::string name, std::string_view tzif) {
  const Error malformed{Errc::bad_input, "not a time zone file (TZif, version 2 or later)"};
  const auto old = header_at(tzif, 0);
  if (!old) return malformed;
  const std::size_t second = header_bytes + old->data_bytes(4);
  const auto header = header_at(tzif, second);
  if (!header || header->types == 0) return malformed;
  const std::size_t times = second + header_bytes, kinds = times + header->times * 8,
                    types = kinds + header->times, end = times + header->data_bytes(8);
  if (tzif.size() < end) return malformed;
  Rules rules;
  rules.first_s = number_at(tzif, types, 4);
  for (std::uint64_t i = 0; i < header->times; ++i) {
    const auto kind = static_cast<unsigned char>(tzif[kinds + i]);
    if (kind >= header->types) return malformed;
    rules.changes.push_back(
        {number_at(tzif, times + i * 8, 8), number_at(tzif, types + kind * 6, 4)});
  }
  // The footer: a line with the rule for all later times; empty when there is none.
  std::string_view footer = tzif.substr(end);
  if (footer.size() >= 2 && footer.front() == '\n') {
    footer = footer.substr(1, footer.find('\n', 1) - 1);
    if (!footer.empty() && !(rules.later = ZoneRule::parse(footer))) return malformed;
  }
  TimeZone zone;
  zone.name_ = std::move(name);
  zone.rules_ = std::make_shared<const Rules>(std::move(rules));
  return zone;
}

Span TimeZone::offset_at(WallTime time) const {
  return Span::of_s(rules_->offset(seconds_of(time)));
}

LocalTime TimeZone::local(WallTime time) const {
  const std::int64_t utc_s = seconds_of(time);
  const std::int64_t local_s = utc_s + rules_->offset(utc_s);
  LocalTime out;
  out.day = (local_s - (local_s < 0 ? day_s - 1 : 0)) / day_s;
  out.minute = static_cast<std::int32_t>((local_s - out.day * day_s) / 60);
  out.weekday = static_cast<int>(((out.day + 3) % 7 + 7) % 7);  // 1970-01-01 was a Thursday.
  return out;
}

// The first moment at which clocks show that minute of that day, or a later one of it.
WallTime TimeZone::moment(std::int64_t day, std::int32_t minute) const {
  const std::int64_t wanted = day * day_s + minute * std::int64_t{60};
  const std::int64_t before = rules_->offset(wanted - day_s),
                     after = rules_->offset(wanted + day_s);
  const std::int64_t early = wanted - std::max(before, after);
  const std::int64_t late = wanted - std::min(before, after);
  std::int64_t found = late;
  if (early + rules_->offset(early) >= wanted) {
    found = early;
  } else if (late + rules_->offset(late) > wanted) {
    // Left out: the change lies between the two.
    std::int64_t low = early, high = late;
    while (high - low > 1) {
      const std::int64_t middle = low + (high - low) / 2;
      (middle + rules_->offset(middle) >= wanted ? high : low) = middle;
    }
    found = high;
  }
  return WallTime{found * second_us};
}

WallTime TimeZone::next(std::int32_t minute, WallTime after) const {
  std::int64_t day = local(after).day - 1;
  WallTime found = moment(day, minute);
  while (found <= after) found = moment(++day, minute);
  return found;
}

}  // namespace ebbwatch
