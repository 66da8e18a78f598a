#include <CLI/CLI.hpp>
#include <memory>

#include "cli/ask.h"
#include "text/duration.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

struct ShelfOptions {
  std::string subject, lasting, until, reason, by;
  bool json = false;
};
using Options = std::shared_ptr<ShelfOptions>;

/// The end as RFC 3339; empty, after a complaint, when it cannot be read.
std::string end_of(Context& context, const ShelfOptions& options) {
  if (options.lasting.empty() == options.until.empty()) {
    complain(context, "Give either --for 2h or --until 2026-11-02T18:00:00Z.", exit_usage);
    return {};
  }
  if (!options.until.empty()) {
    if (from_rfc3339(options.until)) return options.until;
    complain(context, "--until: '" + options.until + "' is not a time; write 2026-11-02T18:00:00Z.",
             exit_usage);
    return {};
  }
  const auto span = parse_duration(options.lasting);
  if (!span) {
    complain(context, "--for: " + span.error().text, exit_usage);
    return {};
  }
  return to_rfc3339(wall_now() + span.value());
}

void shelve(Context& context, const ShelfOptions& options) {
  const std::string until = end_of(context, options);
  if (until.empty()) return;
  ask_and_print(context,
                {{"command", "shelve"},
                 {"subject", options.subject},
                 {"until", until},
                 {"reason", options.reason},
                 {"by", options.by}},
                options.json);
}

void ask(Context& context, const char* command, const ShelfOptions& options) {
  ask_and_print(context,
                {{"command", command},
                 {"subject", options.subject},
                 {"reason", options.reason},
                 {"by", options.by}},
                options.json);
}

CLI::App* add_command(CLI::App& app, Context& context, const Options& options, const char* name,
                      const char* description, const char* footer) {
  auto* command = app.add_subcommand(name, description);
  command->footer(footer);
  command
      ->add_option("subject", options->subject,
                   "Controller, tank or site; tank/NAME where several share a name")
      ->required()
      ->type_name("CONTROLLER|TANK|SITE");
  command->add_flag("--json", options->json, "Print JSON");
  add_config_option(*command, context);
  return command;
}

void add_reason(CLI::App& command, const Options& options) {
  command.add_option("--reason", options->reason, "Why, for those who wonder later")
      ->required()
      ->type_name("TEXT");
  command.add_option("--by", options->by, "Who does it")->required()->type_name("NAME");
}

void add_by(CLI::App& command, const Options& options) {
  command.add_option("--by", options->by, "Who does it")->type_name("NAME");
}

}  // namespace

void add_shelve(CLI::App& app, Context& context) {
  auto options = std::make_shared<ShelfOptions>();
  auto* command = add_command(
      app, context, options, "shelve", "Tell nobody of a loss for a limited time",
      "Losses are still recorded. What is silent when the time is over is told at once.\n"
      "Example: ebbwatch shelve lagoon --for 2h --reason \"water change\" --by robin");
  command->add_option("--for", options->lasting, "For how long, at most 30d")->type_name("TIME");
  command->add_option("--until", options->until, "Or until when (RFC 3339)")->type_name("TIME");
  add_reason(*command, options);
  command->callback([&context, options] { shelve(context, *options); });
}

void add_unshelve(CLI::App& app, Context& context) {
  auto options = std::make_shared<ShelfOptions>();
  auto* command = add_command(app, context, options, "unshelve", "End a shelf before its time",
                              "Example: ebbwatch unshelve lagoon");
  add_by(*command, options);
  command->callback([&context, options] { ask(context, "unshelve", *options); });
}

void add_out_of_service(CLI::App& app, Context& context) {
  auto options = std::make_shared<ShelfOptions>();
  auto* command = add_command(
      app, context, options, "out-of-service", "Tell nobody of a loss until it is back in service",
      "Has no end of its own, so `ebbwatch status` always shows it.\n"
      "Example: ebbwatch out-of-service frag --reason \"tank is empty\" --by robin");
  add_reason(*command, options);
  command->callback([&context, options] { ask(context, "out_of_service", *options); });
}

void add_in_service(CLI::App& app, Context& context) {
  auto options = std::make_shared<ShelfOptions>();
  auto* command = add_command(app, context, options, "in-service", "Watch and tell as usual again",
                              "Example: ebbwatch in-service frag");
  add_by(*command, options);
  command->callback([&context, options] { ask(context, "in_service", *options); });
}

}  // namespace ebbwatch
