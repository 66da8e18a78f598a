#include "app/keeper.h"

#include <algorithm>
#include <chrono>

#include "reporting/log.h"

namespace ebbwatch {
namespace {

using std::chrono::steady_clock;

constexpr std::size_t rows_in_a_step = 1000;
constexpr std::chrono::seconds first_rest{5};
constexpr std::chrono::minutes long_rest{10};
constexpr std::chrono::milliseconds least_rest{20};
/// Rests are at least so many times as long as the step before: the store's thread stays free.
constexpr int rest_factor = 4;

}  // namespace

KeepLimits keep_limits(const KeepSettings& settings, WallTime now) {
  KeepLimits limits{now - settings.check_ins, {}};
  // What is still raw is also in the record.
  if (settings.record > Span{})
    limits.record_from = now - std::max(settings.record, settings.check_ins);
  return limits;
}

Keeper::Keeper(boost::asio::any_io_executor loop, StoreThread& store, const Clock& clock,
               std::function<const KeepSettings&()> settings)
    : store_(store), clock_(clock), settings_(std::move(settings)), timer_(std::move(loop)) {}

void Keeper::start() {
  stopped_ = false;
  wait(first_rest);
}

void Keeper::stop() {
  stopped_ = true;
  timer_.cancel();
}

void Keeper::wait(steady_clock::duration rest) {
  if (stopped_) return;
  timer_.expires_after(rest);
  timer_.async_wait([this](const boost::system::error_code& error) {
    if (!error) step();
  });
}

void Keeper::step() {
  const KeepLimits limits = keep_limits(settings_(), clock_.wall_now());
  store_.run<Step>(
      [limits](Store& store) {
        const auto begun = steady_clock::now();
        auto more = store.condense(limits, rows_in_a_step);
        return Step{std::move(more), steady_clock::now() - begun};
      },
      [this](const Step& step) { ended(step); });
}

void Keeper::ended(const Step& step) {
  const std::string failure = step.more ? std::string() : step.more.error().text;
  if (failure != failure_ && !failure.empty()) {
    say(Level::warning, "no_room_made",
        "What is old could not be made smaller: " + failure + " It is tried again every 10 min.");
  }
  failure_ = failure;
  const bool more = step.more && step.more.value();
  if (more) {
    wait(std::max<steady_clock::duration>(least_rest, step.took * rest_factor));
  } else {
    wait(long_rest);
  }
}

}  // namespace ebbwatch
