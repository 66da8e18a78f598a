// Time as the core knows it: always an argument, never asked for.
//
// Instant counts on a clock that never steps and that includes suspend (the boot-time clock).
// WallTime is for people, files and other machines. The two never convert implicitly: only
// app/system_clock knows the offset between them, which changes whenever somebody sets the clock.
#pragma once

#include <compare>
#include <cstdint>
#include <limits>

namespace ebbwatch {

/// A length of time in microseconds; may be negative.
struct Span {
  std::int64_t us = 0;

  static constexpr Span of_us(std::int64_t n) { return {n}; }
  static constexpr Span of_ms(std::int64_t n) { return {n * 1'000}; }
  static constexpr Span of_s(std::int64_t n) { return {n * 1'000'000}; }
  static constexpr Span of_min(std::int64_t n) { return of_s(n * 60); }
  static constexpr Span of_h(std::int64_t n) { return of_min(n * 60); }
  static constexpr Span of_days(std::int64_t n) { return of_h(n * 24); }
  /// Rounds to the nearest microsecond. @pre |s| < 2^63 us (292,000 years).
  static constexpr Span of_seconds(double s) {
    return {static_cast<std::int64_t>(s * 1e6 + (s < 0 ? -0.5 : 0.5))};
  }
  static constexpr Span longest() { return {std::numeric_limits<std::int64_t>::max()}; }

  constexpr double seconds() const { return static_cast<double>(us) / 1e6; }
  friend constexpr auto operator<=>(Span, Span) = default;
  friend constexpr Span operator+(Span a, Span b) { return {a.us + b.us}; }
  friend constexpr Span operator-(Span a, Span b) { return {a.us - b.us}; }
  friend constexpr Span operator*(Span a, std::int64_t k) { return {a.us * k}; }
  friend constexpr Span operator/(Span a, std::int64_t k) { return {a.us / k}; }
  constexpr Span& operator+=(Span b) { return us += b.us, *this; }
  constexpr Span& operator-=(Span b) { return us -= b.us, *this; }
};

/// A point on the clock that never steps. The origin is the owner's choice: replay counts from the
/// beginning of its trace; the daemon anchors it at start so that it is close to Unix time.
struct Instant {
  std::int64_t us = 0;

  static constexpr Instant never() { return {std::numeric_limits<std::int64_t>::max()}; }
  static constexpr Instant of_seconds(double s) { return {Span::of_seconds(s).us}; }
  constexpr bool is_never() const { return us == std::numeric_limits<std::int64_t>::max(); }
  constexpr double seconds() const { return static_cast<double>(us) / 1e6; }
  friend constexpr auto operator<=>(Instant, Instant) = default;
  friend constexpr Instant operator+(Instant a, Span s) { return {a.us + s.us}; }
  friend constexpr Instant operator-(Instant a, Span s) { return {a.us - s.us}; }
  friend constexpr Span operator-(Instant a, Instant b) { return {a.us - b.us}; }
};

/// UTC in microseconds since the Unix epoch.
struct WallTime {
  std::int64_t us = 0;

  friend constexpr auto operator<=>(WallTime, WallTime) = default;
  friend constexpr WallTime operator+(WallTime a, Span s) { return {a.us + s.us}; }
  friend constexpr WallTime operator-(WallTime a, Span s) { return {a.us - s.us}; }
  friend constexpr Span operator-(WallTime a, WallTime b) { return {a.us - b.us}; }
};

}  // namespace ebbwatch
