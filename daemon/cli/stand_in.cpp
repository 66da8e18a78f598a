#include <CLI/CLI.hpp>
#include <memory>

#include "cli/ask.h"
#include "text/duration.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

struct StandInOptions {
  std::string absent, stand_in, from, until, lasting, by;
  bool end = false, json = false;
};

bool is_time(Context& context, const char* option, const std::string& text) {
  if (text.empty() || from_rfc3339(text)) return true;
  complain(context,
           std::string(option) + ": '" + text + "' is not a time; write 2026-11-02T18:00:00Z.",
           exit_usage);
  return false;
}

/// As RFC 3339; empty, after a complaint, when it cannot be read.
std::string end_of(Context& context, const StandInOptions& options) {
  if (options.lasting.empty() == options.until.empty()) {
    complain(context, "Give either --for 7d or --until 2026-11-02T18:00:00Z.", exit_usage);
    return {};
  }
  if (!options.until.empty()) {
    return is_time(context, "--until", options.until) ? options.until : std::string();
  }
  const auto span = parse_duration(options.lasting);
  if (!span) {
    complain(context, "--for: " + span.error().text, exit_usage);
    return {};
  }
  const auto from = from_rfc3339(options.from);
  return to_rfc3339(from.value_or(wall_now()) + span.value());
}

void stand_in(Context& context, const StandInOptions& options) {
  if (options.end) {
    return ask_and_print(context, {{"command", "end_stand_in"}, {"absent", options.absent}},
                         options.json);
  }
  if (options.stand_in.empty()) {
    return complain(context, "Say who stands in: ebbwatch stand-in robin sam --for 7d.",
                    exit_usage);
  }
  if (!is_time(context, "--from", options.from)) return;
  const std::string until = end_of(context, options);
  if (until.empty()) return;
  ask_and_print(context,
                {{"command", "stand_in"},
                 {"absent", options.absent},
                 {"stand_in", options.stand_in},
                 {"from", options.from},
                 {"until", until},
                 {"by", options.by}},
                options.json);
}

}  // namespace

void add_stand_in(CLI::App& app, Context& context) {
  auto* command = app.add_subcommand("stand-in", "Call somebody in place of somebody else");
  command->footer(
      "For holidays and nights off: every call list that names the first then calls the second.\n"
      "Example: ebbwatch stand-in robin sam --until 2026-12-27T08:00:00Z\n"
      "         ebbwatch stand-in robin --end");
  auto options = std::make_shared<StandInOptions>();
  command->add_option("absent", options->absent, "Who is not called")
      ->required()
      ->type_name("KEYHOLDER");
  command->add_option("stand_in", options->stand_in, "Who is called instead")
      ->type_name("KEYHOLDER");
  command->add_option("--from", options->from, "Since when (RFC 3339), else from now on")
      ->type_name("TIME");
  command->add_option("--for", options->lasting, "For how long")->type_name("TIME");
  command->add_option("--until", options->until, "Or until when (RFC 3339)")->type_name("TIME");
  command->add_option("--by", options->by, "Who says so, for the history")->type_name("NAME");
  command->add_flag("--end", options->end, "Nobody stands in any more");
  command->add_flag("--json", options->json, "Print JSON");
  add_config_option(*command, context);
  command->callback([&context, options] { stand_in(context, *options); });
}

}  // namespace ebbwatch
