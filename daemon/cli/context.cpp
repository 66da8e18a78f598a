#include "cli/context.h"

#include <CLI/CLI.hpp>
#include <chrono>
#include <cstdio>

#include "settings/load.h"

namespace ebbwatch {

void add_config_option(CLI::App& app, Context& context) {
  app.add_option("--config", context.configuration, "Settings of the watcher")
      ->type_name("FILE")
      ->capture_default_str();
}

bool load_or_complain(Context& context, Settings& settings) {
  auto loaded = load_settings(context.configuration);
  for (const auto& problem : loaded.problems) std::fprintf(stderr, "%s\n", text(problem).c_str());
  if (!loaded.problems.empty()) {
    context.exit_status = exit_usage;
    return false;
  }
  settings = std::move(loaded.settings);
  return true;
}

void complain(Context& context, const std::string& text, int exit_status) {
  std::fprintf(stderr, "ebbwatch: %s\n", text.c_str());
  context.exit_status = exit_status;
}

WallTime wall_now() {
  const auto since_epoch = std::chrono::system_clock::now().time_since_epoch();
  return {std::chrono::duration_cast<std::chrono::microseconds>(since_epoch).count()};
}

}  // namespace ebbwatch
