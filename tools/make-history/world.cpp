#include "world.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace ebbwatch::history {
namespace {

constexpr double losses_a_day = 1.0 / 30;  ///< Of one tank.
constexpr Span shortest_loss = Span::of_min(15);
constexpr double loss_minutes_more = 300;
constexpr double lost_messages = 0.002;
constexpr double pi = 3.14159265358979;

}  // namespace

World::World(const Options& options, WallTime from)
    : options_(options),
      from_(from),
      state_(options.seed * 0x9e3779b97f4a7c15U + 1),
      of_tank_(options.controllers),
      next_loss_(options.controllers) {
  for (std::uint32_t tank = 0; tank < options_.controllers; ++tank) {
    for (std::int64_t day = 1; day + 1 < options_.days; ++day) {
      if (chance() >= losses_a_day) continue;
      const WallTime start = from_ + Span::of_days(day) + Span::of_seconds(chance() * 40'000);
      const Span length = shortest_loss + Span::of_seconds(chance() * loss_minutes_more * 60);
      of_tank_[tank].push_back({tank, start, start + length, chance() < 0.5});
      losses_.push_back(of_tank_[tank].back());
    }
  }
  std::sort(losses_.begin(), losses_.end(),
            [](const Loss& a, const Loss& b) { return a.until < b.until; });
}

// Steele, Lea, Flood: "Fast splittable pseudorandom number generators" (2014), SplitMix64.
double World::chance() {
  std::uint64_t z = (state_ += 0x9e3779b97f4a7c15U);
  z = (z ^ (z >> 30U)) * 0xbf58476d1ce4e5b9U;
  z = (z ^ (z >> 27U)) * 0x94d049bb133111ebU;
  z ^= z >> 31U;
  return static_cast<double>(z >> 11U) / 9007199254740992.0;
}

std::int64_t World::turns() const {
  return Span::of_days(options_.days).us / options_.interval.us;
}

bool World::silent(std::uint32_t tank, WallTime at) {
  auto& next = next_loss_[tank];
  const auto& losses = of_tank_[tank];
  while (next < losses.size() && losses[next].until <= at) ++next;
  return next < losses.size() && losses[next].from <= at;
}

void World::check_ins(std::int64_t turn, std::vector<CheckInRow>& out) {
  const WallTime turn_at = from_ + options_.interval * turn;
  const double day = static_cast<double>(turn_at.us) / 86'400e6;
  for (std::uint32_t tank = 0; tank < options_.controllers; ++tank) {
    // Each has its own second in the minute, and some jitter.
    const auto place = options_.interval.us * (tank + 1) / (options_.controllers + 2);
    const WallTime at =
        turn_at + Span::of_us(place) + Span::of_us(static_cast<std::int64_t>(chance() * 1000));
    const double luck = chance();
    if (silent(tank, at) || luck < lost_messages) continue;
    auto& row = out.emplace_back();
    row.at = at;
    row.controller = controller_id(tank);
    row.seq = static_cast<std::uint64_t>(turn);
    row.uptime_s = static_cast<double>(turn) * options_.interval.seconds();
    row.power = "mains";
    if (!options_.readings) continue;
    char readings[80];
    std::snprintf(readings, sizeof readings, R"({"temperature_c":%.2f,"watts":{"heater":%d}})",
                  25 + 0.5 * std::sin(2 * pi * day + tank) + 0.1 * luck, luck < 0.4 ? 150 : 0);
    row.readings_json = readings;
  }
}

std::string World::settings_yaml(const std::string& state_dir) const {
  std::string yaml = "watcher: {name: archive, state_dir: \"" + state_dir +
                     "\", uplink_references: [], uplink_quorum: 0}\n"
                     "listen: {board: {address: \"127.0.0.1\", port: 8471}}\n"
                     "notifiers:\n  - {id: note, kind: program, command: [\"/bin/true\"]}\n"
                     "keyholders:\n  - {id: robin, name: Robin}\n"
                     "call_lists:\n  - id: everyday\n    steps: [{after: 0min, tell: [robin], by: "
                     "[note]}]\nsites:\n";
  for (std::uint32_t tank = 0; tank < options_.controllers; ++tank) {
    if (tank % options_.tanks_at_a_site == 0) {
      yaml += "  - id: home-" + std::to_string(tank / options_.tanks_at_a_site + 1) +
              "\n    call_list: everyday\n    tanks:\n";
    }
    yaml += "      - {id: " + tank_id(tank) + ", controllers: [{id: " + controller_id(tank) +
            ", interval: " + std::to_string(options_.interval.us / 1'000'000) +
            "s, supply: mains}]}\n";
  }
  return yaml;
}

}  // namespace ebbwatch::history
