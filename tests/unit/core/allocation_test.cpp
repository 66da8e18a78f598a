// A check-in allocates nothing: every call of operator new is counted.
#include <doctest/doctest.h>

#include <atomic>
#include <cstdlib>
#include <new>
#include <string>
#include <vector>

#include "unit/core/scene.h"

namespace {

std::atomic<std::uint64_t> allocations{0};

}  // namespace

// All forms, so that each delete meets the new that it belongs to.
void* operator new(std::size_t size, const std::nothrow_t&) noexcept {
  ++allocations;
  return std::malloc(size);
}
void* operator new(std::size_t size) {
  if (void* memory = operator new(size, std::nothrow)) return memory;
  throw std::bad_alloc();
}
void* operator new[](std::size_t size) {
  return operator new(size);
}
void* operator new[](std::size_t size, const std::nothrow_t& tag) noexcept {
  return operator new(size, tag);
}
void operator delete(void* memory) noexcept {
  std::free(memory);
}
void operator delete(void* memory, std::size_t) noexcept {
  std::free(memory);
}
void operator delete[](void* memory) noexcept {
  std::free(memory);
}
void operator delete[](void* memory, std::size_t) noexcept {
  std::free(memory);
}
void operator delete(void* memory, const std::nothrow_t&) noexcept {
  std::free(memory);
}
void operator delete[](void* memory, const std::nothrow_t&) noexcept {
  std::free(memory);
}

using namespace ebbwatch;

TEST_CASE("watch: a million check-ins and checks of the link allocate nothing") {
  test::Plan plan;
  for (int i = 0; i < 200; ++i) {
    const std::string id = std::to_string(i);
    plan.site("s" + id, "area", "provider").tank("t" + id).controller("c" + id, 60);
  }
  plan.uplink(1, {"resolver", "portal"});
  Watch watch(plan.plan, Instant{});
  std::vector<Decision> decisions;
  std::uint64_t before = 0;
  std::uint32_t events = 0;
  for (int round = 0; round < 5000; ++round) {
    if (round == 3)
      before = allocations;  // The first rounds warm nothing up, but are fair to skip.
    for (std::uint32_t i = 0; i < 200; ++i) {
      CheckIn check_in;
      check_in.controller = ControllerIndex{i};
      check_in.seq = static_cast<std::uint64_t>(round);
      check_in.uptime_s = 60.0 * round;
      check_in.power = Power::mains;
      // One in fifty is lost, some come late.
      if ((round * 200 + static_cast<int>(i)) % 50 == 7) continue;
      const double late = (round + static_cast<int>(i)) % 3 == 0 ? 0.2 : 0.0;
      watch.on({Instant::of_seconds(60.0 * round + 0.25 * i + late * 0.5), check_in}, decisions);
      ++events;
    }
    watch.on({Instant::of_seconds(60.0 * round + 59), UplinkResult{ReferenceIndex{0}, true}},
             decisions);
  }
  CHECK(allocations == before);
  CHECK(events > 970'000);
  CHECK(decisions.empty());
}
