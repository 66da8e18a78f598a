// What every subcommand of `ebbwatch` shares, and how each is added to the command line. One file a
// subcommand; main.cpp only puts them together.
#pragma once

#include <string>

#include "core/result.h"
#include "core/time.h"
#include "settings/settings.h"

namespace CLI {
class App;
}

namespace ebbwatch {

inline constexpr int exit_done = 0;  ///< Done.
inline constexpr int exit_could_not = 1;
inline constexpr int exit_usage = 2;  ///< Wrong usage or configuration.

struct Context {
  std::string configuration = "/etc/ebbwatch/ebbwatch.yaml";
  int exit_status = exit_done;  ///< Set by the subcommand that ran.
};

/// Adds `--config FILE`, which stands before or after the subcommand.
void add_config_option(CLI::App& app, Context& context);

/// The settings of context.configuration. When they have problems, prints all to standard error,
/// sets the exit status to exit_usage and returns false.
bool load_or_complain(Context& context, Settings& settings);
/// Prints "ebbwatch: …" to standard error and sets the exit status.
void complain(Context& context, const std::string& text, int exit_status = exit_could_not);
/// The wall clock; the command line is an edge and may ask.
WallTime wall_now();

void add_acknowledge(CLI::App& app, Context& context);
void add_advise(CLI::App& app, Context& context);
void add_backup(CLI::App& app, Context& context);
void add_board_password(CLI::App& app, Context& context);
void add_check_config(CLI::App& app, Context& context);
void add_drill(CLI::App& app, Context& context);
void add_enrol(CLI::App& app, Context& context);
void add_export(CLI::App& app, Context& context);
void add_history(CLI::App& app, Context& context);
void add_replay(CLI::App& app, Context& context);
void add_report(CLI::App& app, Context& context);
void add_restore(CLI::App& app, Context& context);
void add_in_service(CLI::App& app, Context& context);
void add_out_of_service(CLI::App& app, Context& context);
void add_shelve(CLI::App& app, Context& context);
void add_unshelve(CLI::App& app, Context& context);
void add_stand_in(CLI::App& app, Context& context);
void add_status(CLI::App& app, Context& context);
void add_time_left(CLI::App& app, Context& context);
void add_wall_address(CLI::App& app, Context& context);

}  // namespace ebbwatch
