#include <CLI/CLI.hpp>
#include <cstdio>

#include "advice/wishes.h"
#include "cli/context.h"
#include "cli/recorded_history.h"
#include "settings/plan.h"
#include "settings/secrets.h"

namespace ebbwatch {
namespace {

/// Every secret that the settings name, with what it is for.
std::vector<std::pair<std::string, SecretSource>> secrets_of(const Settings& settings) {
  std::vector<std::pair<std::string, SecretSource>> all;
  for (const auto& notifier : settings.notifiers) {
    for (const auto& source :
         {notifier.email.password, notifier.webhook.signing_key, notifier.sms_gateway.secret}) {
      if (source.given()) all.emplace_back("notifier " + notifier.id, source);
    }
  }
  for (const auto& witness : settings.witnesses) {
    if (witness.key.given()) all.emplace_back("witness " + witness.name, witness.key);
  }
  return all;
}

/// What wishes come to, from the recorded history if there is one.
void print_wishes(const Settings& settings) {
  if (!advice::has_wishes(settings)) return;
  advice::History history;
  if (const auto store = open_recorded(settings.watcher.state_dir); store) {
    const auto measured = measure_recorded(*store.value(), make_plan(settings));
    if (measured) history = measured.value();
    if (!measured) std::fprintf(stderr, "ebbwatch: note: %s\n", measured.error().text.c_str());
  } else {
    std::fprintf(stderr, "ebbwatch: note: no history: %s\n", store.error().text.c_str());
  }
  std::printf("Wished detection comes to:\n");
  for (const advice::Choice& choice : advice::choices(settings, history)) {
    std::printf("  %s%s\n", advice::can_be_had(choice) ? "" : "NOT TO BE HAD: ",
                advice::sentence(choice).c_str());
  }
}

void check_config(Context& context) {
  Settings settings;
  if (!load_or_complain(context, settings)) return;
  std::size_t tanks = 0, controllers = 0, unreadable = 0;
  for (const auto& site : settings.sites) {
    tanks += site.tanks.size();
    for (const auto& tank : site.tanks) controllers += tank.controllers.size();
  }
  for (const auto& [owner, source] : secrets_of(settings)) {
    // A credential exists only inside the service, so that its absence here proves nothing.
    if (source.kind == SecretSource::Kind::credential) continue;
    if (const auto secret = read_secret(source, settings.file); !secret) {
      std::fprintf(stderr, "%s: %s\n", owner.c_str(), secret.error().text.c_str());
      ++unreadable;
    }
  }
  if (unreadable > 0) {
    std::fprintf(stderr,
                 "The file is sound, but ebbwatchd would not start: secrets are missing.\n");
    context.exit_status = exit_usage;
    return;
  }
  std::printf(
      "%s is sound: %zu sites, %zu tanks, %zu controllers, %zu notifiers, %zu keyholders.\n",
      context.configuration.c_str(), settings.sites.size(), tanks, controllers,
      settings.notifiers.size(), settings.keyholders.size());
  print_wishes(settings);
}

}  // namespace

void add_check_config(CLI::App& app, Context& context) {
  auto* command = app.add_subcommand(
      "check-config", "Say everything that is wrong with the configuration, with the remedy");
  command->footer("Example: ebbwatch check-config --config /etc/ebbwatch/ebbwatch.yaml");
  add_config_option(*command, context);
  command->callback([&context] { check_config(context); });
}

}  // namespace ebbwatch
