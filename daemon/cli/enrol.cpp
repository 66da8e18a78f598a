#include <sys/random.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <boost/json/array.hpp>
#include <boost/json/object.hpp>
#include <boost/json/serialize.hpp>
#include <cstdio>
#include <memory>

#include "cli/context.h"
#include "cli/enrol_snippets.h"
#include "control/control_client.h"
#include "crypto/controller_key.h"
#include "crypto/wipe.h"
#include "store/sqlite_key_store.h"
#include "text/identifier.h"

namespace ebbwatch {
namespace {

struct EnrolOptions {
  std::string controller;
  std::vector<std::string> also;
  bool json = false;
};

const ControllerSettings* find(const Settings& settings, const std::string& id,
                               std::vector<std::string>& known) {
  for (const auto& site : settings.sites) {
    for (const auto& tank : site.tanks) {
      for (const auto& controller : tank.controllers) {
        if (controller.id == id) return &controller;
        known.push_back(controller.id);
      }
    }
  }
  return nullptr;
}

/// Host and port for datagrams; empty when they are not taken.
std::optional<CheckInPlace::Udp> udp_place(const Settings& settings, std::string base) {
  const auto& listen = settings.listen.check_in_udp;
  if (!listen) return std::nullopt;
  base.erase(0, base.find("://") + 3);
  const auto end = base.find_first_of(":/", base.starts_with('[') ? base.find(']') : 0);
  return CheckInPlace::Udp{base.substr(0, end), std::to_string(listen->port)};
}

/// Where controllers reach this watcher: as configured, else from the listening address.
std::string base_url(const Settings& settings) {
  if (!settings.listen.public_url.empty()) {
    std::string url = settings.listen.public_url;
    while (!url.empty() && url.back() == '/') url.pop_back();
    return url;
  }
  const auto& listen = settings.listen.check_in_http;
  std::string host = listen ? listen->address : "127.0.0.1";
  const std::string port = std::to_string(listen ? listen->port : 8460);
  if (host == "0.0.0.0" || host == "::") {
    char name[256] = "localhost";
    if (gethostname(name, sizeof name - 1) == 0) host = name;
  } else if (host.find(':') != std::string::npos) {
    host = "[" + host + "]";
  }
  return "http://" + host + ":" + port;
}

/// The places of `--also`. Empty, with the complaint made, when one is wrong.
std::optional<std::vector<CheckInPlace>> others(Context& context, const Settings& settings,
                                                const std::vector<std::string>& also) {
  std::vector<CheckInPlace> places;
  std::vector<std::string> known;
  for (const WitnessSettings& one : settings.witnesses) known.push_back(one.name);
  for (const std::string& text : also) {
    const auto equals = text.find('=');
    const std::string name = text.substr(0, equals);
    const auto found = std::find(known.begin(), known.end(), name);
    if (found == known.end()) {
      const auto near = nearest_word(name, known);
      complain(context,
               "--also " + name + ": no witness of that name in " + context.configuration + "." +
                   (near ? " Did you mean " + *near + "?" : ""),
               exit_usage);
      return std::nullopt;
    }
    const WitnessSettings& witness =
        settings.witnesses[static_cast<std::size_t>(found - known.begin())];
    if (witness.url.empty()) {
      complain(context, "--also " + name + ": the witness has no url, so nobody can call it.",
               exit_usage);
      return std::nullopt;
    }
    CheckInPlace place{name, witness.url, "KEY_AT_" + name, std::nullopt};
    while (place.base.ends_with('/')) place.base.pop_back();
    if (equals != text.npos) place.key = text.substr(equals + 1);
    if (equals != text.npos && !key_hash(place.key)) {
      complain(context,
               "--also " + name + ": what follows '=' is no key. It is what 'ebbwatch enrol' " +
                   "prints at " + name + " and begins with ebb1_.",
               exit_usage);
      return std::nullopt;
    }
    if (!witness.check_in_udp.empty()) place.udp = udp_place_in(witness.check_in_udp);
    places.push_back(std::move(place));
  }
  return places;
}

void print_json(const std::string& controller, const std::vector<CheckInPlace>& places) {
  const auto object = [](const CheckInPlace& place) {
    boost::json::object out{{"key", place.key},
                            {"check_in_url", place.check_in_url()},
                            {"capability_url", place.capability_url()}};
    if (place.udp) out["check_in_udp"] = place.udp->host + ":" + place.udp->port;
    return out;
  };
  boost::json::object out = object(places.front());
  out["controller"] = controller;
  boost::json::array also;
  for (std::size_t i = 1; i < places.size(); ++i) {
    also.push_back(object(places[i]));
    also.back().as_object()["watcher"] = places[i].watcher;
  }
  if (!also.empty()) out["also"] = std::move(also);
  std::printf("%s\n", boost::json::serialize(out).c_str());
}

void print_text(const std::string& controller, const std::vector<CheckInPlace>& places,
                Span interval, bool replaced, const Settings& settings) {
  std::string text = snippets_for_one(controller, places.front(), interval, replaced);
  text += snippets_for_all(controller, places, interval);
  const bool can_more = places.size() == 1 && !settings.witnesses.empty();
  if (can_more) {
    const std::string& name = settings.witnesses.front().name;
    text += "To check in to " + name + " as well, make a key there and give it here:\n" +
            "  ebbwatch enrol " + controller + " --also " + name + "=KEY\n\n";
  }
  text += "Whoever has a key or such an address can check in for " + controller +
          ": keep it like a\npassword, and use TLS (https://) outside of your own network.\n";
  std::fputs(text.c_str(), stdout);
}

void enrol(Context& context, const EnrolOptions& options) {
  Settings settings;
  if (!load_or_complain(context, settings)) return;
  std::vector<std::string> known;
  const ControllerSettings* controller = find(settings, options.controller, known);
  if (controller == nullptr) {
    const auto near = nearest_word(options.controller, known);
    complain(context,
             "No controller '" + options.controller + "' in " + context.configuration + "." +
                 (near ? " Did you mean " + *near + "?" : " Add it under a tank first."),
             exit_usage);
    return;
  }
  auto places = others(context, settings, options.also);
  if (!places) return;
  std::array<std::uint8_t, 32> random{};
  if (getrandom(random.data(), random.size(), 0) != static_cast<ssize_t>(random.size())) {
    complain(context, "The system gave no random numbers.");
    return;
  }
  ControllerKey key = make_key(random);
  wipe(random);
  const WipedAtEnd after(key.text);
  auto store = open_key_store(settings.watcher.state_dir);
  if (!store) return complain(context, store.error().text);
  const auto replaced =
      store.value()->set_key({options.controller, to_hex(key.hash), wall_now(), key.mac.to_hex()});
  if (!replaced) return complain(context, replaced.error().text);
  // A daemon that runs takes the key at once; one that does not will find it when it starts.
  const auto told = ask_daemon(settings.watcher.state_dir, R"({"command": "keys"})");
  if (!told && told.error().code != Errc::unavailable) {
    std::fprintf(stderr,
                 "The running daemon could not be told: %s\n"
                 "Reload it (SIGHUP) so that the key works.\n",
                 told.error().text.c_str());
  }
  const std::string base = base_url(settings);
  places->insert(places->begin(),
                 {settings.watcher.name, base, key.text, udp_place(settings, base)});
  if (!options.json) {
    print_text(options.controller, *places, controller->interval, replaced.value(), settings);
    return;
  }
  print_json(options.controller, *places);
  if (!replaced.value()) return;
  std::fprintf(stderr, "The earlier key of %s stops working now.\n", options.controller.c_str());
}

}  // namespace

void add_enrol(CLI::App& app, Context& context) {
  auto* command = app.add_subcommand(
      "enrol",
      "Make a controller's key and print ready lines for curl, crontab and simple devices");
  command->footer(
      "A second call makes a new key; the old one stops working.\n"
      "Example: ebbwatch enrol lagoon-main\n"
      "To two watchers: the same at breakwater, then here\n"
      "         ebbwatch enrol lagoon-main --also breakwater=ebb1_…");
  auto options = std::make_shared<EnrolOptions>();
  command->add_option("controller", options->controller, "Identifier from the configuration")
      ->required();
  command
      ->add_option("--also", options->also,
                   "A witness that it checks in to as well, with the key that 'ebbwatch enrol' "
                   "made there: NAME=KEY")
      ->allow_extra_args(false);
  command->add_flag("--json", options->json, "Print JSON");
  add_config_option(*command, context);
  command->callback([&context, options] { enrol(context, *options); });
}

}  // namespace ebbwatch
