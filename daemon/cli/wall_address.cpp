#include <sys/random.h>

#include <CLI/CLI.hpp>
#include <array>
#include <boost/json/array.hpp>
#include <boost/json/object.hpp>
#include <boost/json/serialize.hpp>
#include <cstdio>
#include <memory>

#include "cli/board_address.h"
#include "cli/context.h"
#include "control/control_client.h"
#include "crypto/digest.h"
#include "store/sqlite_wall_addresses.h"
#include "text/identifier.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

struct WallOptions {
  std::string name;
  bool json = false;
};
using Options = std::shared_ptr<WallOptions>;

/// Opens the store; null after a complaint.
std::unique_ptr<WallAddressStore> open(Context& context, Settings& settings) {
  if (!load_or_complain(context, settings)) return nullptr;
  auto store = open_wall_addresses(settings.watcher.state_dir);
  if (store) return std::move(store.value());
  complain(context, store.error().text);
  return nullptr;
}

/// A daemon that runs takes it at once; one that does not will find it when it starts.
void tell_daemon(const Settings& settings) {
  const auto told = ask_daemon(settings.watcher.state_dir, R"({"command": "keys"})");
  if (!told && told.error().code != Errc::unavailable) {
    std::fprintf(stderr, "The running daemon could not be told: %s\nReload it (SIGHUP).\n",
                 told.error().text.c_str());
  }
}

void print_new(const Settings& settings, const WallOptions& options, const std::string& key,
               bool replaced) {
  const auto board = board_address(settings);
  const std::string page = (board.empty() ? "/" : board) + "wall/" + key;
  const std::string calendar = page + "/calendar.ics";
  if (options.json) {
    std::printf("%s\n", boost::json::serialize(boost::json::object{{"name", options.name},
                                                                   {"key", key},
                                                                   {"page", page},
                                                                   {"calendar", calendar}})
                            .c_str());
    return;
  }
  std::printf(
      "Read-only address %s%s. Whoever has it sees the panel; it is shown only now.\n\n"
      "  A page on a wall:  %s\n"
      "  A calendar:        %s\n"
      "  Programs:          Authorization: Bearer %s\n\n"
      "It ends with: ebbwatch wall-address revoke %s\n",
      options.name.c_str(), replaced ? "; the old one of this name has ended" : "", page.c_str(),
      calendar.c_str(), key.c_str(), options.name.c_str());
}

void make(Context& context, const WallOptions& options) {
  if (!is_identifier(options.name)) {
    return complain(context, "'" + options.name + "': a name has a-z, 0-9 and -, as in kitchen.",
                    exit_usage);
  }
  Settings settings;
  const auto store = open(context, settings);
  if (!store) return;
  std::array<std::uint8_t, 32> bytes{};
  if (getrandom(bytes.data(), bytes.size(), 0) != static_cast<ssize_t>(bytes.size())) {
    return complain(context, "The system gave no random numbers.");
  }
  const std::string key = to_hex(bytes);
  const auto replaced = store->put({options.name, to_hex(sha256(key)), wall_now()});
  if (!replaced) return complain(context, replaced.error().text);
  tell_daemon(settings);
  print_new(settings, options, key, replaced.value());
}

void list(Context& context, const WallOptions& options) {
  Settings settings;
  const auto store = open(context, settings);
  if (!store) return;
  const auto rows = store->addresses();
  if (!rows) return complain(context, rows.error().text);
  boost::json::array all;
  for (const auto& row : rows.value()) {
    const auto made = to_rfc3339(row.made_at);
    if (!options.json) std::printf("%-24s made %s\n", row.name.c_str(), made.c_str());
    all.push_back(boost::json::object{{"name", row.name}, {"made_at", made}});
  }
  if (options.json) {
    std::printf("%s\n", boost::json::serialize(all).c_str());
  } else if (all.empty()) {
    std::printf("There is no read-only address. Make one: ebbwatch wall-address new kitchen\n");
  }
}

void revoke(Context& context, const WallOptions& options) {
  Settings settings;
  const auto store = open(context, settings);
  if (!store) return;
  const auto gone = store->remove(options.name);
  if (!gone) return complain(context, gone.error().text);
  if (!gone.value()) {
    return complain(context, "There is no read-only address " + options.name +
                                 ". 'ebbwatch wall-address list' shows them.");
  }
  tell_daemon(settings);
  std::printf("The read-only address %s has ended; pages that show it go blank.\n",
              options.name.c_str());
}

CLI::App* add_part(CLI::App& command, Context& context, const Options& options, const char* name,
                   const char* what, void (*run)(Context&, const WallOptions&)) {
  auto* part = command.add_subcommand(name, what);
  add_config_option(*part, context);
  part->callback([&context, options, run] { run(context, *options); });
  return part;
}

}  // namespace

void add_wall_address(CLI::App& app, Context& context) {
  auto* command = app.add_subcommand(
      "wall-address", "Addresses that show the panel without a password, for reading only");
  command->footer(
      "For a page on a wall, a calendar, and programs that read figures. Each has a name and can\n"
      "be ended by itself. Only a hash of it is kept.\n"
      "Example: ebbwatch wall-address new kitchen");
  command->require_subcommand(1);
  add_config_option(*command, context);
  auto options = std::make_shared<WallOptions>();
  auto* made = add_part(*command, context, options, "new", "Make one; it is shown only now", make);
  made->add_option("name", options->name, "What it is for")->required()->type_name("NAME");
  made->add_flag("--json", options->json, "Print JSON");
  add_part(*command, context, options, "list", "Their names", list)
      ->add_flag("--json", options->json, "Print JSON");
  add_part(*command, context, options, "revoke", "End one", revoke)
      ->add_option("name", options->name, "Which")
      ->required()
      ->type_name("NAME");
}

}  // namespace ebbwatch
