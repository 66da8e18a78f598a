// ebbwatch-fleet: plays many controllers against a running daemon, over real HTTP.
#include <CLI/CLI.hpp>
#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <chrono>
#include <cmath>
#include <csignal>
#include <cstdio>
#include <map>

#include "keys.h"
#include "schedule.h"
#include "sender.h"

namespace ebbwatch::fleet {
namespace {

volatile std::sig_atomic_t asked_to_stop = 0;

struct Options {
  std::string scenario, keys, url;
  long connections = 32;
  double compression = 0;
  bool quiet = false;
  bool dry_run = false;
};

std::string check_in_body(const Step& step, double compression) {
  boost::json::object body;
  body["seq"] = step.seq;
  body["uptime_s"] = std::round(step.uptime.seconds() / compression * 1000) / 1000;
  body["power"] = step.on_battery ? "battery" : "mains";
  // A tank that breathes a little with its heater, so that a notice has a last reading to tell.
  const double wave = std::sin(step.at.seconds() / 60.0 + step.controller);
  body["readings"] = boost::json::object{{"temperature_c", std::round(250 + 3 * wave) / 10}};
  return boost::json::serialize(body);
}

/// What an answer that is not 204 says, in one line.
std::string reason_in(const std::string& answer) {
  boost::json::error_code error;
  const auto parsed = boost::json::parse(answer, error);
  if (error || !parsed.is_object()) return answer;
  const auto* detail = parsed.get_object().if_contains("detail");
  return detail != nullptr && detail->is_string() ? std::string(detail->get_string()) : answer;
}

class Run {
 public:
  Run(const Scenario& scenario, std::map<std::string, std::string> keys, const Options& options)
      : scenario_(scenario),
        keys_(std::move(keys)),
        options_(options),
        schedule_(scenario),
        sender_(scenario.daemon, options.connections,
                [this](std::uint64_t tag, long status, const std::string& text) {
                  answered(tag, status, text);
                }) {}

  /// @return the exit status.
  int play() {
    begun_ = std::chrono::steady_clock::now();
    while (auto step = schedule_.next()) {
      wait_until(step->at);
      if (asked_to_stop != 0) break;
      act(*step);
    }
    if (asked_to_stop == 0) wait_until(scenario_.length);
    const auto patience = std::chrono::steady_clock::now() + std::chrono::seconds(15);
    while (sender_.under_way() > 0 && std::chrono::steady_clock::now() < patience) {
      sender_.carry_on(std::chrono::milliseconds(100));
    }
    std::printf("In all: %llu check-ins taken, %llu lost on purpose, %llu refused or unanswered.\n",
                taken_, lost_, failed_);
    return taken_ == 0 || failed_ > 0 ? 1 : 0;
  }

 private:
  void wait_until(Span at) {
    const auto due = begun_ + std::chrono::microseconds(static_cast<std::int64_t>(
                                  static_cast<double>(at.us) / scenario_.compression));
    while (asked_to_stop == 0) {
      const auto left =
          std::chrono::ceil<std::chrono::milliseconds>(due - std::chrono::steady_clock::now());
      if (left.count() <= 0) return;
      sender_.carry_on(std::min(left, std::chrono::milliseconds(200)));
    }
  }

  void act(const Step& step) {
    switch (step.kind) {
      case Step::Kind::begins:
        return say(step.at, "*** " + words(scenario_.happenings[step.happening]) + " begins");
      case Step::Kind::ends:
        return say(step.at, "*** " + words(scenario_.happenings[step.happening]) + " is over");
      case Step::Kind::lost:
        ++lost_;
        return detail(step.at, name(step) + " sends seq " + std::to_string(step.seq) +
                                   ", which is lost on its way");
      case Step::Kind::check_in:
        break;
    }
    const auto tag = next_tag_++;
    under_way_.emplace(tag, step);
    sender_.send(tag, keys_.at(name(step)), check_in_body(step, scenario_.compression));
  }

  void answered(std::uint64_t tag, long status, const std::string& text) {
    const Step step = under_way_.extract(tag).mapped();
    const std::string sent = name(step) + " checks in, seq " + std::to_string(step.seq) +
                             (step.on_battery ? ", on battery" : "");
    if (status == 204) {
      ++taken_;
      return detail(step.at, sent);
    }
    ++failed_;
    say(step.at, sent + ": " + (status == 0 ? "no answer" : "refused, " + std::to_string(status)) +
                     ": " + reason_in(text));
  }

  const std::string& name(const Step& step) const {
    return scenario_.controllers[step.controller].id;
  }
  static void say(Span at, const std::string& text) {
    std::printf("%7.1f s  %s\n", at.seconds(), text.c_str());
    std::fflush(stdout);
  }
  void detail(Span at, const std::string& text) const {
    if (!options_.quiet) say(at, text);
  }

  const Scenario& scenario_;
  std::map<std::string, std::string> keys_;
  const Options& options_;
  Schedule schedule_;
  Sender sender_;
  std::chrono::steady_clock::time_point begun_;
  std::map<std::uint64_t, Step> under_way_;
  std::uint64_t next_tag_ = 1;
  unsigned long long taken_ = 0, lost_ = 0, failed_ = 0;
};

/// Prints the schedule instead of playing it.
int print_schedule(const Scenario& scenario) {
  Schedule schedule(scenario);
  while (const auto step = schedule.next()) {
    if (step->kind == Step::Kind::begins || step->kind == Step::Kind::ends) {
      std::printf("%9.3f s  %s %s\n", step->at.seconds(),
                  words(scenario.happenings[step->happening]).c_str(),
                  step->kind == Step::Kind::begins ? "begins" : "is over");
    } else {
      std::printf("%9.3f s  %s seq %llu uptime %.3f s%s%s\n", step->at.seconds(),
                  scenario.controllers[step->controller].id.c_str(),
                  static_cast<unsigned long long>(step->seq), step->uptime.seconds(),
                  step->on_battery ? " on battery" : "",
                  step->kind == Step::Kind::lost ? " lost" : "");
    }
  }
  return 0;
}

int run(const Options& options) {
  auto read = read_scenario_file(options.scenario);
  if (!read) return std::fputs(read.error().text.c_str(), stderr), 2;
  Scenario scenario = std::move(read.value());
  if (!options.url.empty()) scenario.daemon = options.url;
  if (options.compression > 0) scenario.compression = options.compression;
  if (options.dry_run) return print_schedule(scenario);
  if (scenario.daemon.empty()) {
    std::fputs("Where is the daemon? Give --url, or daemon: in the scenario.\n", stderr);
    return 2;
  }
  auto keys = read_keys_file(options.keys);
  if (!keys) return std::fprintf(stderr, "%s\n", keys.error().text.c_str()), 2;
  int missing = 0;
  for (const auto& controller : scenario.controllers) {
    if (keys.value().contains(controller.id)) continue;
    ++missing;
    std::fprintf(stderr, "%s: no key for %s; make one with: ebbwatch enrol %s --json\n",
                 options.keys.c_str(), controller.id.c_str(), controller.id.c_str());
  }
  if (missing > 0) return 2;
  std::printf("%zu controllers check in at %s for %.0f s.\n", scenario.controllers.size(),
              scenario.daemon.c_str(), scenario.length.seconds() / scenario.compression);
  return Run(scenario, std::move(keys.value()), options).play();
}

constexpr const char* footer = R"(
A scenario is a YAML file:

  daemon: "http://127.0.0.1:8460"  # --url overrides it
  seed: 7                          # the same seed gives the same run
  length: 100s
  compression: 1                   # scenario seconds in one real second
  defaults: {interval: 60s, jitter: 0s, loss: 0, start_delay: 0s, supply: mains}
  controllers:
    - {id: lagoon-main, site: harbour-lane, interval: 2s}
    - {id: lagoon-logger, site: harbour-lane, interval: 3s, supply: battery_backed}
  generate:                        # club-001 ... club-040 at club-site-1 ... club-site-8
    - {prefix: club, count: 40, sites: 8, interval: 60s, jitter: 2s, loss: 0.01}
  happenings:
    - {at: 20s, blip: kelp-main, for: 5s}          # controller or site: nothing arrives
    - {at: 45s, mains_cut: mill-cottage, for: 40s} # site: mains controllers stop and restart,
                                                   # battery-backed ones go on, on battery
    - {at: 70s, crash: lagoon-main, for: 10s}      # controller: stops; seq and uptime from 0

The keys are a JSON object {"CONTROLLER": "KEY", ...}, or what `ebbwatch enrol CONTROLLER --json`
prints, several one after the other.

Example:
  for c in lagoon-main lagoon-logger; do
    ebbwatch --config demo.yaml enrol $c --json; done > keys.json
  ebbwatch-fleet --scenario config/fleet-demo.yaml --keys keys.json --url http://127.0.0.1:8460

Exit status: 0 all check-ins that were sent were taken, 1 some were not, 2 wrong usage or files.)";

}  // namespace
}  // namespace ebbwatch::fleet

int main(int argc, char** argv) {
  using namespace ebbwatch::fleet;
  Options options;
  CLI::App app{"Plays many controllers against a running ebbwatch daemon, over real HTTP."};
  app.add_option("--scenario", options.scenario, "YAML file with what happens")->required();
  app.add_option("--keys", options.keys, "JSON file with the controllers' keys");
  app.add_option("--url", options.url, "Where the daemon listens, http://HOST:PORT");
  app.add_option("--compression", options.compression, "Scenario seconds in one real second")
      ->check(CLI::Range(0.001, 100'000.0));
  app.add_option("--connections", options.connections, "Connections kept open at most")
      ->check(CLI::Range(1L, 10'000L));
  app.add_flag("--quiet", options.quiet, "Print happenings and refusals only");
  app.add_flag("--dry-run", options.dry_run, "Print the schedule and send nothing");
  app.footer(footer);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& problem) {
    return app.exit(problem) == 0 ? 0 : 2;
  }
  if (options.keys.empty() && !options.dry_run) {
    std::fputs("--keys is required (see --help)\n", stderr);
    return 2;
  }
  for (const int signal : {SIGINT, SIGTERM}) {
    std::signal(signal, [](int) { asked_to_stop = 1; });
  }
  return run(options);
}
