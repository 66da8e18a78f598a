// `ebbwatch-bench core`: what a check-in, the re-arming of a timer and a controller cost, beside an
// Asio timer for each controller. Processor time, in rounds that take turns, so that a busy machine
// slows both sides alike.
#include <malloc.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <memory>
#include <new>
#include <vector>

#include "commands/commands.h"
#include "core/timing_wheel.h"
#include "core/watch.h"

namespace {

// This program is one thread, so plain counters do.
std::uint64_t allocations = 0;
std::int64_t bytes_held = 0;

}  // namespace

void* operator new(std::size_t size) {
  void* memory = std::malloc(size);
  if (memory == nullptr) throw std::bad_alloc();
  ++allocations;
  bytes_held += static_cast<std::int64_t>(malloc_usable_size(memory));
  return memory;
}
void operator delete(void* memory) noexcept {
  if (memory != nullptr) bytes_held -= static_cast<std::int64_t>(malloc_usable_size(memory));
  std::free(memory);
}
void operator delete(void* memory, std::size_t) noexcept {
  operator delete(memory);
}

namespace ebbwatch::bench {
namespace {

constexpr double interval_s = 60;

double processor_s() {
  timespec now{};
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + static_cast<double>(now.tv_nsec) / 1e9;
}

double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

// One site with one tank for each controller: the least that a controller can need.
WatchPlan plan_of(std::uint32_t controllers) {
  WatchPlan plan;
  plan.watcher = "bench";
  plan.controllers.resize(controllers);
  plan.tanks.resize(controllers);
  plan.sites.resize(controllers);
  for (std::uint32_t i = 0; i < controllers; ++i) {
    const std::string number = std::to_string(i);
    plan.controllers[i].id = "c" + number;
    plan.controllers[i].tank = {i};
    plan.controllers[i].interval = Span::of_seconds(interval_s);
    plan.tanks[i].id = "t" + number;
    plan.tanks[i].site = {i};
    plan.tanks[i].controllers = {{i}};
    plan.sites[i].id = "s" + number;
    plan.sites[i].tanks = {{i}};
  }
  return plan;
}

// Every controller once, spread over the interval.
class OurRounds {
 public:
  explicit OurRounds(std::uint32_t count) : count_(count), watch_(plan_of(count), Instant{0}) {}
  void check_in_all() {
    for (std::uint32_t i = 0; i < count_; ++i) {
      CheckIn check_in;
      check_in.controller = {i};
      check_in.seq = round_;
      watch_.on({at(i), check_in}, decisions_);
    }
    ++round_;
  }
  std::size_t decisions() const { return decisions_.size(); }

 private:
  Instant at(std::uint32_t i) const {
    return Instant::of_seconds(interval_s * (static_cast<double>(round_) +
                                             static_cast<double>(i) / static_cast<double>(count_)));
  }
  std::uint32_t count_;
  Watch watch_;
  std::vector<Decision> decisions_;
  std::uint64_t round_ = 1;
};

class WheelRounds {
 public:
  explicit WheelRounds(std::uint32_t count) : count_(count), wheel_(count, Instant{0}) {}
  void arm_all() {
    ++round_;
    for (std::uint32_t i = 0; i < count_; ++i) {
      const double share = static_cast<double>(i) / static_cast<double>(count_);
      const double at_s = interval_s * (static_cast<double>(round_) + share);
      wheel_.arm(i, Instant::of_seconds(at_s + 7 * interval_s));
      if (i % 256 == 0) moved_ += wheel_.pop(Instant::of_seconds(at_s)).has_value() ? 1 : 0;
    }
  }
  std::uint64_t fired() const { return moved_; }

 private:
  std::uint32_t count_;
  TimingWheel wheel_;
  std::uint64_t round_ = 0, moved_ = 0;
};

// What a program without a wheel does: one timer for each controller, set anew at each check-in.
class AsioRounds {
 public:
  explicit AsioRounds(std::uint32_t count) {
    timers_.reserve(count);
    for (std::uint32_t i = 0; i < count; ++i) timers_.emplace_back(context_);
  }
  void arm_all() {
    for (std::size_t i = 0; i < timers_.size(); ++i) {
      const auto share = static_cast<double>(i) / static_cast<double>(timers_.size());
      timers_[i].expires_after(
          std::chrono::milliseconds(static_cast<long>(1000 * interval_s * (7 + share))));
      timers_[i].async_wait([this](const boost::system::error_code& error) {
        if (!error) ++fired_;
      });
      if (i % 256 == 255) context_.poll();
    }
    context_.poll();
  }

 private:
  boost::asio::io_context context_;
  std::vector<boost::asio::steady_timer> timers_;
  std::uint64_t fired_ = 0;
};

template <class Work>
double nanoseconds_each(std::uint32_t count, Work&& work) {
  const double before = processor_s();
  work();
  return (processor_s() - before) * 1e9 / count;
}

void show_times(std::uint32_t count, int rounds) {
  OurRounds ours(count);
  WheelRounds wheel(count);
  AsioRounds asio(count);
  ours.check_in_all();
  wheel.arm_all();
  asio.arm_all();
  std::vector<double> check_in, arm, timer, arm_ratio, check_in_ratio;
  std::uint64_t ours_allocated = 0, asio_allocated = 0;
  for (int i = 0; i < rounds; ++i) {
    std::uint64_t before = allocations;
    check_in.push_back(nanoseconds_each(count, [&] { ours.check_in_all(); }));
    arm.push_back(nanoseconds_each(count, [&] { wheel.arm_all(); }));
    ours_allocated += allocations - before;
    before = allocations;
    timer.push_back(nanoseconds_each(count, [&] { asio.arm_all(); }));
    asio_allocated += allocations - before;
    arm_ratio.push_back(timer.back() / arm.back());
    check_in_ratio.push_back(timer.back() / check_in.back());
  }
  const double events = static_cast<double>(count) * rounds;
  std::printf("%u controllers at 60 s, median of %d rounds that take turns\n\n", count, rounds);
  std::printf("%-42s%9s%14s\n", "", "ns CPU", "allocations");
  std::printf("%-42s%9.0f%14.2f\n", "a check-in, decided on (Watch::on)", median(check_in),
              static_cast<double>(ours_allocated) / events);
  std::printf("%-42s%9.0f%14s\n", "re-arming a deadline (TimingWheel::arm)", median(arm), "0.00");
  std::printf("%-42s%9.0f%14.2f\n", "re-arming an asio::steady_timer", median(timer),
              static_cast<double>(asio_allocated) / events);
  std::printf(
      "\nthe Asio timer costs %.1f times the wheel's deadline, %.1f times a whole check-in\n",
      median(arm_ratio), median(check_in_ratio));
  if (ours.decisions() + wheel.fired() > 0) std::printf("(unexpected: something was decided)\n");
}

void show_memory(std::uint32_t count) {
  const std::int64_t start = bytes_held;
  WatchPlan plan = plan_of(count);
  const std::int64_t planned = bytes_held;
  const Watch watch(std::move(plan), Instant{0});
  const std::int64_t watched = bytes_held;
  std::printf("%8u controllers: %5lld bytes each to watch, and %5lld of settings and names\n",
              count, static_cast<long long>((watched - planned) / count),
              static_cast<long long>((planned - start) / count));
}

}  // namespace

void add_core(CLI::App& app) {
  auto* command = app.add_subcommand(
      "core", "Cost of a check-in, of a deadline and of a controller, beside Asio's timers");
  auto rounds = std::make_shared<int>(7);
  auto largest = std::make_shared<std::uint32_t>(1'000'000);
  command->add_option("--rounds", *rounds, "Of each side")->check(CLI::Range(5, 1000));
  command->add_option("--largest", *largest, "Controllers of the last figure of memory")
      ->check(CLI::Range(1000, 1'000'000));
  command->callback([rounds, largest] {
    constexpr std::uint32_t usual = 100'000;
    show_times(usual, *rounds);
    std::printf("\n");
    show_memory(usual);
    show_memory(*largest);
  });
}

}  // namespace ebbwatch::bench
