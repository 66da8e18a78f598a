// `ebbwatch`, the command line.
#include <CLI/CLI.hpp>

#include "cli/context.h"
#include "crypto/core_dumps.h"

int main(int argc, char** argv) {
  ebbwatch::forbid_core_dumps();
  CLI::App app(
      "Tells the right person when an aquarium's controller falls silent.\n"
      "It helps people to notice; it is not a life-safety, fire or flood alarm.");
  app.name("ebbwatch");
  app.require_subcommand(1);
  app.set_version_flag("--version", "ebbwatch " EBBWATCH_VERSION);
  app.footer("Each command has --help with an example.");

  ebbwatch::Context context;
  ebbwatch::add_config_option(app, context);
  ebbwatch::add_check_config(app, context);
  ebbwatch::add_enrol(app, context);
  ebbwatch::add_status(app, context);
  ebbwatch::add_history(app, context);
  ebbwatch::add_report(app, context);
  ebbwatch::add_time_left(app, context);
  ebbwatch::add_acknowledge(app, context);
  ebbwatch::add_drill(app, context);
  ebbwatch::add_stand_in(app, context);
  ebbwatch::add_shelve(app, context);
  ebbwatch::add_unshelve(app, context);
  ebbwatch::add_out_of_service(app, context);
  ebbwatch::add_in_service(app, context);
  ebbwatch::add_replay(app, context);
  ebbwatch::add_advise(app, context);
  ebbwatch::add_backup(app, context);
  ebbwatch::add_restore(app, context);
  ebbwatch::add_export(app, context);
  ebbwatch::add_board_password(app, context);
  ebbwatch::add_wall_address(app, context);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    // CLI11 has its own numbers; ours are 0 for --help and --version, 2 for wrong usage.
    return app.exit(error) == 0 ? ebbwatch::exit_done : ebbwatch::exit_usage;
  }
  return context.exit_status;
}
