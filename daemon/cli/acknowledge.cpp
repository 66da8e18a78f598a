#include <CLI/CLI.hpp>
#include <boost/json/object.hpp>
#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <cstdio>
#include <cstdlib>
#include <memory>

#include "cli/context.h"
#include "control/control_client.h"

namespace ebbwatch {
namespace {

struct AcknowledgeOptions {
  std::string outage, by;
  bool json = false;
};

void acknowledge(Context& context, const AcknowledgeOptions& options) {
  Settings settings;
  if (!load_or_complain(context, settings)) return;
  const boost::json::object request{
      {"command", "acknowledge"}, {"outage", options.outage}, {"by", options.by}};
  const auto answer = ask_daemon(settings.watcher.state_dir, boost::json::serialize(request));
  if (!answer) return complain(context, answer.error().text);
  boost::system::error_code error;
  const auto parsed = boost::json::parse(answer.value(), error);
  const auto* object = error ? nullptr : parsed.if_object();
  const auto* refused = object ? object->if_contains("error") : nullptr;
  const auto* done = object ? object->if_contains("done") : nullptr;
  if (refused && refused->is_string()) {
    return complain(context, std::string(refused->get_string()));
  }
  if (!done || !done->is_string()) return complain(context, "The daemon's answer cannot be read.");
  std::printf("%s\n", options.json ? answer.value().c_str() : done->get_string().c_str());
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
