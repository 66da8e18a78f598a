#include <sys/random.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <boost/json/object.hpp>
#include <boost/json/serialize.hpp>
#include <cstdio>
#include <memory>

#include "cli/context.h"
#include "control/control_client.h"
#include "crypto/controller_key.h"
#include "store/sqlite_key_store.h"
#include "text/identifier.h"

namespace ebbwatch {
namespace {

struct EnrolOptions {
  std::string controller;
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

/// Host and port for datagrams, "[2001:db8::1]" in brackets; empty when they are not taken.
struct UdpPlace {
  std::string host, port;
};
std::optional<UdpPlace> udp_place(const Settings& settings, std::string base) {
  const auto& listen = settings.listen.check_in_udp;
  if (!listen) return std::nullopt;
  base.erase(0, base.find("://") + 3);
  const auto end = base.find_first_of(":/", base.starts_with('[') ? base.find(']') : 0);
  return UdpPlace{base.substr(0, end), std::to_string(listen->port)};
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

std::string crontab_minutes(Span interval) {
  const auto minutes = std::max<std::int64_t>(1, interval.us / Span::of_min(1).us);
  return minutes == 1 ? "*" : minutes < 60 ? "*/" + std::to_string(minutes) : "0";
}

void print_udp_snippet(const std::string& controller, const std::string& key,
                       const UdpPlace& place) {
  std::printf(
      "By datagram (UDP), for small devices; the answer is EBB1 ok ECHO MAC:\n"
      "  KEY=%s\n"
      "  text=\"EBB1 %s 1 $(date +%%s%%3N) - power=mains\"\n"
      "  mac=$(printf %%s \"$text\" | openssl dgst -sha256 -hmac \"$KEY\" | sed 's/.* //')\n"
      "  printf %%s \"$text $(printf %%.32s \"$mac\")\" | nc -u -w 2 %s %s\n\n",
      key.c_str(), controller.c_str(), place.host.c_str(), place.port.c_str());
}

void print_snippets(const std::string& controller, const std::string& key, const std::string& base,
                    Span interval, bool replaced, const std::optional<UdpPlace>& udp) {
  const std::string capability = base + "/v1/c/" + key;
  std::printf("Key of %s (shown only now; the watcher keeps its hash):\n\n  %s\n\n",
              controller.c_str(), key.c_str());
  if (replaced) std::printf("The earlier key of %s stops working now.\n\n", controller.c_str());
  std::printf(
      "Try it:\n  curl -fsS -H 'Authorization: Bearer %s' -X POST \\\n    %s/v1/check-in\n\n",
      key.c_str(), base.c_str());
  std::printf(
      "With readings:\n  curl -fsS -H 'Authorization: Bearer %s' \\\n"
      "    --json '{\"power\": \"mains\", \"readings\": {\"temperature_c\": 25.4}}' \\\n"
      "    %s/v1/check-in\n\n",
      key.c_str(), base.c_str());
  std::printf("From a crontab:\n  %s * * * *  curl -fsS -m 20 --retry 2 -o /dev/null '%s'\n\n",
              crontab_minutes(interval).c_str(), capability.c_str());
  std::printf("For a device that can only open an address:\n  %s\n\n", capability.c_str());
  if (udp) print_udp_snippet(controller, key, *udp);
  std::printf(
      "Whoever has the key or that address can check in for %s: keep it like a\n"
      "password, and use TLS (https://) outside of your own network.\n",
      controller.c_str());
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
  std::array<std::uint8_t, 32> random{};
  if (getrandom(random.data(), random.size(), 0) != static_cast<ssize_t>(random.size())) {
    complain(context, "The system gave no random numbers.");
    return;
  }
  const ControllerKey key = make_key(random);
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
  const auto udp = udp_place(settings, base);
  if (options.json) {
    boost::json::object out{{"controller", options.controller},
                            {"key", key.text},
                            {"check_in_url", base + "/v1/check-in"},
                            {"capability_url", base + "/v1/c/" + key.text}};
    if (udp) out["check_in_udp"] = udp->host + ":" + udp->port;
    std::printf("%s\n", boost::json::serialize(out).c_str());
    if (replaced.value()) {
      std::fprintf(stderr, "The earlier key of %s stops working now.\n",
                   options.controller.c_str());
    }
    return;
  }
  print_snippets(options.controller, key.text, base, controller->interval, replaced.value(), udp);
}

}  // namespace

void add_enrol(CLI::App& app, Context& context) {
  auto* command = app.add_subcommand(
      "enrol",
      "Make a controller's key and print ready lines for curl, crontab and simple devices");
  command->footer(
      "A second call makes a new key; the old one stops working.\n"
      "Example: ebbwatch enrol lagoon-main");
  auto options = std::make_shared<EnrolOptions>();
  command->add_option("controller", options->controller, "Identifier from the configuration")
      ->required();
  command->add_flag("--json", options->json, "Print JSON");
  add_config_option(*command, context);
  command->callback([&context, options] { enrol(context, *options); });
}

}  // namespace ebbwatch
