// ebbwatch-bench: how good our deciding is, measured beside other ways of doing it.
#include <CLI/CLI.hpp>

#include "commands/commands.h"

int main(int argc, char** argv) {
  CLI::App app{"Measures the deciding of ebbwatch beside other ways of doing it"};
  app.require_subcommand(1);
  app.footer("Example: ebbwatch-bench detectors --traces ../traces --set flapping");
  int status = 0;
  ebbwatch::bench::add_causes(app, status);
  ebbwatch::bench::add_core(app);
  ebbwatch::bench::add_detectors(app, status);
  ebbwatch::bench::add_witnesses(app, status);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    const int code = app.exit(error);
    return code == 0 ? 0 : 2;
  }
  return status;
}
