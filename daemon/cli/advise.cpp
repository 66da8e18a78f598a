// `ebbwatch advise`: what the watcher's own history says about the settings.
#include <CLI/CLI.hpp>
#include <boost/json/array.hpp>
#include <boost/json/serialize.hpp>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <memory>

#include "cli/advise_report.h"
#include "cli/context.h"
#include "cli/recorded_history.h"
#include "cli/replay_run.h"
#include "settings/plan.h"
#include "trace/trace_reader.h"

namespace ebbwatch {
namespace {

constexpr std::size_t charts_at_once_max = 3;

struct AdviseOptions {
  std::string site, tank, trace, svg;
  bool json = false, ascii = false;
};

Result<advice::History> history_of(const AdviseOptions& options, const Settings& settings,
                                   const WatchPlan& plan) {
  if (!options.trace.empty()) {
    const auto watchers = watchers_of_trace(options.trace);
    if (!watchers) return watchers.error();
    return measure_trace(options.trace, plan_for_replay(plan, plan.watcher, watchers.value()));
  }
  const auto store = open_recorded(settings.watcher.state_dir);
  if (!store) return store.error();
  return measure_recorded(*store.value(), plan);
}

bool is_known(const Settings& settings, const AdviseOptions& options, std::string& what) {
  bool site_known = options.site.empty(), tank_known = options.tank.empty();
  for (const SiteSettings& site : settings.sites) {
    site_known = site_known || site.id == options.site;
    for (const TankSettings& tank : site.tanks) tank_known = tank_known || tank.id == options.tank;
  }
  if (!site_known) what = "--site: no site " + options.site + " is configured";
  if (!tank_known) what = "--tank: no tank " + options.tank + " is configured";
  return site_known && tank_known;
}

std::vector<AdviceOfOne> chosen(std::vector<AdviceOfOne> all, const WatchPlan& plan,
                                const AdviseOptions& options) {
  std::erase_if(all, [&](const AdviceOfOne& one) {
    const TankPlan& tank = plan.tanks[plan.controllers[one.controller.value].tank.value];
    return (!options.tank.empty() && tank.id != options.tank) ||
           (!options.site.empty() && plan.sites[tank.site.value].id != options.site);
  });
  return all;
}

Result<void> write_charts(const std::string& folder, const std::vector<AdviceOfOne>& all) {
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  if (error) return Error{Errc::storage, folder + ": " + error.message()};
  for (const AdviceOfOne& one : all) {
    const std::string path = folder + "/" + one.measure.controller + ".svg";
    const std::string svg = charts::svg(advice::trade_off(one.measure, one.delay, one.wish));
    std::FILE* file = std::fopen(path.c_str(), "w");
    const bool written =
        file != nullptr && std::fwrite(svg.data(), 1, svg.size(), file) == svg.size();
    const bool closed = file != nullptr && std::fclose(file) == 0;
    if (!written || !closed) return Error{Errc::storage, path + ": " + std::strerror(errno)};
  }
  return {};
}

void print_json(const std::vector<AdviceOfOne>& all, const advice::History& history,
                const std::string& watcher) {
  boost::json::object out;
  out["watcher"] = watcher;
  out["own"] = own_json(history.own);
  boost::json::array controllers;
  for (const AdviceOfOne& one : all) controllers.push_back(advice_json(one));
  out["controllers"] = std::move(controllers);
  std::printf("%s\n", boost::json::serialize(out).c_str());
}

void print_text(const std::vector<AdviceOfOne>& all, const advice::History& history,
                const AdviseOptions& options, const std::string& watcher) {
  std::fputs(own_text(history.own, watcher).c_str(), stdout);
  charts::TextForm form;
  form.ascii = options.ascii;
  form.rows = 12;
  for (const AdviceOfOne& one : all) {
    std::printf("\n%s", advice_text(one).c_str());
    if (all.size() > charts_at_once_max) continue;
    const auto chart = advice::trade_off(one.measure, one.delay, one.wish);
    std::printf("\n%s", charts::plain_text(chart, form).c_str());
  }
  if (all.size() > charts_at_once_max)
    std::printf("\nCharts: --site ID or --tank ID for a few controllers, or --svg DIR for all.\n");
}

void advise(Context& context, const AdviseOptions& options) {
  Settings settings;
  if (!load_or_complain(context, settings)) return;
  std::string what;
  if (!is_known(settings, options, what)) return complain(context, what, exit_usage);
  const auto history = history_of(options, settings, make_plan(settings));
  if (!history) return complain(context, history.error().text);
  settings = advice::with_choices(settings, advice::choices(settings, history.value()));
  const WatchPlan plan = make_plan(settings);
  const auto all = chosen(advise_all(settings, plan, history.value()), plan, options);
  if (!options.svg.empty()) {
    if (const auto written = write_charts(options.svg, all); !written)
      return complain(context, written.error().text);
  }
  if (options.json) return print_json(all, history.value(), settings.watcher.name);
  print_text(all, history.value(), options, settings.watcher.name);
}

}  // namespace

void add_advise(CLI::App& app, Context& context) {
  auto* command = app.add_subcommand(
      "advise", "What can be had: time to the telling against false alarms, from the own history");
  command->footer(
      "Reads what the daemon has recorded, whether or not it runs, and changes nothing.\n"
      "A false alarm is a silence under 20 min that ended by itself and would have been told.\n"
      "Example: ebbwatch advise --site elm-street\n"
      "Example: ebbwatch advise --json --svg /tmp/charts\n"
      "Example: ebbwatch advise --config site.yaml --trace heard.csv.gz");
  auto options = std::make_shared<AdviseOptions>();
  command->add_option("--site", options->site, "Only this site")->type_name("ID");
  command->add_option("--tank", options->tank, "Only this tank")->type_name("ID");
  command->add_option("--trace", options->trace, "A trace file instead of the own history")
      ->type_name("FILE");
  command->add_option("--svg", options->svg, "Write a chart of each controller into this folder")
      ->type_name("DIR");
  command->add_flag("--json", options->json, "Print JSON");
  command->add_flag("--ascii", options->ascii, "Charts in plain ASCII");
  add_config_option(*command, context);
  command->callback([&context, options] { advise(context, *options); });
}

}  // namespace ebbwatch
