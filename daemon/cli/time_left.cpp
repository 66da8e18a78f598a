#include <CLI/CLI.hpp>
#include <algorithm>
#include <cstdio>
#include <memory>
#include <vector>

#include "cli/context.h"
#include "cli/time_left_text.h"
#include "store/sqlite_store.h"

namespace ebbwatch {
namespace {

struct TimeLeftOptions {
  std::string tank;
  int days = 30;
  bool json = false;
};

struct FoundTank {
  const SiteSettings* site = nullptr;
  const TankSettings* tank = nullptr;
};

FoundTank find_tank(const Settings& settings, const std::string& id) {
  for (const SiteSettings& site : settings.sites) {
    for (const TankSettings& tank : site.tanks) {
      if (tank.id == id) return {&site, &tank};
    }
  }
  return {};
}

/// What the recorded check-ins of a tank's controllers say.
struct Record {
  TankReadings readings;
  std::optional<WallTime> last_heard;
  Span interval;                       ///< Of the controller heard last.
  std::optional<WallTime> on_battery;  ///< Since when, where the last word of one was so.
  std::vector<double> time_constants_h;
};

Result<void> read_controller(Store& store, const ControllerSettings& controller, WallTime from,
                             bool equilibrium_is_room, Record& record) {
  constexpr Span room_age_max = Span::of_h(1);
  HistoryQuery query;
  query.from = from;
  query.subject = controller.id;
  SpellFinder spells;
  std::optional<WallTime> battery_since;
  std::optional<TankReading> room;
  const auto read = store.for_each_heard(query, [&](const HeardRow& heard) {
    const auto* row = std::get_if<CheckInRow>(&heard);
    // A buffered one is about some time in the past, and does not say which.
    if (row == nullptr || row->buffered || row->controller != controller.id) return true;
    const TankReadings readings = read_readings(row->at, row->readings_json);
    take_newer(record.readings, readings);
    if (readings.room_c) room = readings.room_c;
    const bool battery = row->power == "battery";
    if (!battery) battery_since.reset();
    if (battery && !battery_since) battery_since = row->at;
    if (readings.water_c) {
      const bool room_fresh = room && row->at - room->at <= room_age_max;
      spells.take(row->at, battery || nothing_draws_power(row->readings_json),
                  readings.water_c->value,
                  room_fresh ? std::optional<double>(room->value) : std::nullopt);
    }
    if (!record.last_heard || *record.last_heard < row->at) {
      record.last_heard = row->at;
      record.interval = controller.interval;
    }
    return true;
  });
  if (!read) return read.error();
  if (battery_since && (!record.on_battery || *battery_since < *record.on_battery)) {
    record.on_battery = battery_since;
  }
  for (const Spell& spell : spells.finish()) {
    auto hours = time_constant_h(spell, equilibrium_is_room);
    if (!hours) hours = time_constant_h(spell, false);
    if (hours) record.time_constants_h.push_back(*hours);
  }
  return {};
}

TimeLeftReport report_of(const FoundTank& found, const Record& record, WallTime now) {
  constexpr std::int64_t missed_max = 3;
  TimeLeftReport report{found.tank->id,
                        found.tank->name.empty() ? found.tank->id : found.tank->name,
                        found.site->name.empty() ? found.site->id : found.site->name,
                        PowerKnown::on,
                        now,
                        {}};
  WallTime from = now;
  if (record.on_battery) {
    report.power = PowerKnown::out;
    from = *record.on_battery;
  } else if (record.last_heard && now - *record.last_heard > record.interval * missed_max) {
    report.power = PowerKnown::silent;
    from = *record.last_heard;
  }
  report.left = estimate_time_left(tank_facts(*found.site, *found.tank), record.readings, from,
                                   combine(record.time_constants_h));
  return report;
}

void time_left(Context& context, const TimeLeftOptions& options) {
  Settings settings;
  if (!load_or_complain(context, settings)) return;
  const FoundTank found = find_tank(settings, options.tank);
  if (found.tank == nullptr) {
    return complain(context,
                    "No tank " + options.tank + " is configured. 'ebbwatch status' lists them.");
  }
  StoreOptions beside;
  beside.sole_watcher = false;
  const auto store = open_store(settings.watcher.state_dir, beside);
  if (!store) return complain(context, store.error().text);
  const WallTime now = wall_now();
  const bool closed = found.tank->facts.cover == Cover::glass;
  Record record;
  for (const ControllerSettings& controller : found.tank->controllers) {
    const auto read = read_controller(*store.value(), controller, now - Span::of_days(options.days),
                                      closed, record);
    if (!read) return complain(context, read.error().text);
  }
  const TimeLeftReport report = report_of(found, record, now);
  const std::string text = options.json ? time_left_json(report) + "\n" : time_left_text(report);
  std::fputs(text.c_str(), stdout);
}

}  // namespace

void add_time_left(CLI::App& app, Context& context) {
  auto* command = app.add_subcommand(
      "time-left", "How long a tank keeps its temperature and oxygen without power");
  command->footer(
      "An estimate from what the configuration says of the tank and from its last readings, with\n"
      "everything that it assumes. Works whether or not the daemon runs.\n"
      "Example: ebbwatch time-left lagoon");
  auto options = std::make_shared<TimeLeftOptions>();
  command->add_option("tank", options->tank, "The tank's identifier")
      ->required()
      ->type_name("TANK");
  command
      ->add_option("--days", options->days,
                   "How far back to look for readings and stretches without power")
      ->type_name("N")
      ->check(CLI::Range(1, 3660))
      ->capture_default_str();
  command->add_flag("--json", options->json, "Print JSON");
  add_config_option(*command, context);
  command->callback([&context, options] { time_left(context, *options); });
}

}  // namespace ebbwatch
