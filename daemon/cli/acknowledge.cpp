#include <CLI/CLI.hpp>
#include <memory>

#include "cli/ask.h"

namespace ebbwatch {
namespace {

struct AcknowledgeOptions {
  std::string outage, by;
  bool json = false;
};

void acknowledge(Context& context, const AcknowledgeOptions& options) {
  ask_and_print(context,
                {{"command", "acknowledge"}, {"outage", options.outage}, {"by", options.by}},
                options.json);
}

}  // namespace

void add_acknowledge(CLI::App& app, Context& context) {
  auto* command =
      app.add_subcommand("acknowledge", "Say that somebody has taken a running outage on");
  command->footer(
      "The call list goes no further; everyone told hears of the recovery.\n"
      "Example: ebbwatch acknowledge harbour-17 --by Robin");
  auto options = std::make_shared<AcknowledgeOptions>();
  command->add_option("outage", options->outage, "As in the notice and in `ebbwatch status`")
      ->required();
  command->add_option("--by", options->by, "Who takes it on")->required()->type_name("NAME");
  command->add_flag("--json", options->json, "Print JSON");
  add_config_option(*command, context);
  command->callback([&context, options] { acknowledge(context, *options); });
}

}  // namespace ebbwatch
