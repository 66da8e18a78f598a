#include <CLI/CLI.hpp>
#include <boost/json/parse.hpp>
#include <cstdio>
#include <memory>

#include "cli/context.h"
#include "cli/roll.h"
#include "control/control_client.h"

namespace ebbwatch {
namespace {

void status(Context& context, bool as_json) {
  Settings settings;
  if (!load_or_complain(context, settings)) return;
  const auto answer = ask_daemon(settings.watcher.state_dir, R"({"command": "status"})");
  if (!answer) return complain(context, answer.error().text);
  if (as_json) {
    std::printf("%s\n", answer.value().c_str());
    return;
  }
  boost::system::error_code error;
  const auto parsed = boost::json::parse(answer.value(), error);
  if (error || !parsed.is_object() || !parsed.get_object().contains("sites")) {
    return complain(context, "The daemon gave an answer that cannot be read: " + answer.value());
  }
  std::fputs(roll_text(parsed.get_object(), wall_now()).c_str(), stdout);
}

}  // namespace

void add_status(CLI::App& app, Context& context) {
  auto* command =
      app.add_subcommand("status", "Who is in contact: the roll of sites, tanks and controllers");
  command->footer("Example: ebbwatch status");
  auto as_json = std::make_shared<bool>(false);
  command->add_flag("--json", *as_json, "Print JSON");
  add_config_option(*command, context);
  command->callback([&context, as_json] { status(context, *as_json); });
}

}  // namespace ebbwatch
