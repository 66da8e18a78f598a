#include <CLI/CLI.hpp>
#include <memory>

#include "cli/ask.h"

namespace ebbwatch {
namespace {

struct DrillOptions {
  std::string site, to, by;
  bool json = false;
};

void drill(Context& context, const DrillOptions& options) {
  ask_and_print(context,
                {{"command", "drill"},
                 {"site", options.site},
                 {"to", options.to},
                 {"by", options.by.empty() ? "command line" : options.by}},
                options.json);
}

}  // namespace

void add_drill(CLI::App& app, Context& context) {
  auto* command = app.add_subcommand("drill", "Prove that notices reach people, before they must");
  command->footer(
      "A made-up tank falls silent; everybody on the call list gets a notice marked DRILL by "
      "every\n"
      "way to them and confirms it. It never delays a notice of something real.\n"
      "Example: ebbwatch drill --site elm-street --by robin");
  auto options = std::make_shared<DrillOptions>();
  command->add_option("--site", options->site, "Where the made-up tank stands")->type_name("ID");
  command->add_option("--to", options->to, "Only this keyholder")->type_name("KEYHOLDER");
  command->add_option("--by", options->by, "Who begins it, for the history")->type_name("NAME");
  command->add_flag("--json", options->json, "Print JSON");
  add_config_option(*command, context);
  command->callback([&context, options] { drill(context, *options); });
}

}  // namespace ebbwatch
