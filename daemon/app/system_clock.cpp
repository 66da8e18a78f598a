#include "app/system_clock.h"

#include <ctime>

#include "core/invariant.h"

namespace ebbwatch {
namespace {

std::int64_t read_us(clockid_t id) {
  timespec t{};
  INVARIANT(clock_gettime(id, &t) == 0);
  return static_cast<std::int64_t>(t.tv_sec) * 1'000'000 + t.tv_nsec / 1'000;
}

}  // namespace

SystemClock::SystemClock() : anchor_{read_us(CLOCK_REALTIME) - read_us(CLOCK_BOOTTIME)} {}

Instant SystemClock::now() const {
  return Instant{read_us(CLOCK_BOOTTIME)} + anchor_;
}

WallTime SystemClock::wall_now() const {
  return {read_us(CLOCK_REALTIME)};
}

}  // namespace ebbwatch
