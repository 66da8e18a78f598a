// The two clocks of a tank as the board shows them.
#include <algorithm>
#include <cmath>

#include "app/board_views.h"
#include "app/time_left.h"
#include "settings/plan.h"

namespace ebbwatch {
namespace {

/// As the words are rounded; the dial ends at a day.
double dial_hours(double hours) {
  const double step = hours < 6 ? 0.5 : 1;
  return std::min(24.0, std::floor(hours / step + 1e-9) * step);
}

ClockFace face_of(const char* name, const TankClock& clock, double passed_h) {
  ClockFace face;
  face.name = name;
  if (!clock.range) {
    face.text = clock.refusal;
    return face;
  }
  face.text = clock_text(clock, passed_h);
  const HoursRange rest = later_by(*clock.range, passed_h);
  face.running = true;
  face.low_h = dial_hours(rest.low_h);
  face.high_h = dial_hours(rest.high_h);
  return face;
}

double low_end(const TankClock& clock) {
  return clock.range ? clock.range->low_h : never_h;
}

}  // namespace

const OutageRecord* outage_of(const Watch& watch, TankIndex tank) {
  for (const ControllerIndex c : watch.plan().tanks[tank.value].controllers) {
    if (const auto* record = watch.outage_of(c)) return record;
  }
  return nullptr;
}

ClocksView clocks_view(const BoardInput& in, TankIndex tank) {
  const auto& status = in.status;
  const TankTimeLeft now =
      time_left_now(status.settings, status.watch, tank, in.last_heard(tank), status.clock);
  const WallTime at = status.clock.wall_now();
  const double passed_h = std::max(0.0, (at - now.left.from).seconds() / 3600);
  ClocksView view;
  view.tank = status.watch.plan().tanks[tank.value].id;
  view.condition = power_condition(now.power, now.left.from, at);
  view.faces = {face_of("Oxygen", now.left.oxygen, passed_h),
                face_of("Temperature", now.left.temperature, passed_h)};
  if (low_end(now.left.temperature) < low_end(now.left.oxygen)) {
    std::swap(view.faces[0], view.faces[1]);
  }
  view.assumptions = now.left.assumptions;
  return view;
}

std::vector<TankClocks> clocks_of_outage(const BoardInput& in, OutageId outage) {
  const auto& status = in.status;
  const auto& plan = status.watch.plan();
  std::vector<std::pair<double, TankClocks>> all;
  for (std::uint32_t t = 0; t < plan.tanks.size(); ++t) {
    const OutageRecord* record = outage_of(status.watch, TankIndex{t});
    if (record == nullptr || record->id != outage) continue;
    const auto left = time_left_now(status.settings, status.watch, TankIndex{t},
                                    in.last_heard(TankIndex{t}), status.clock);
    all.push_back(
        {shorter_low_h(left.left),
         {subject_name(status.settings, plan, {Scope::tank, t}), clocks_view(in, TankIndex{t})}});
  }
  std::stable_sort(all.begin(), all.end(),
                   [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<TankClocks> sorted;
  for (auto& one : all) sorted.push_back(std::move(one.second));
  return sorted;
}

}  // namespace ebbwatch
