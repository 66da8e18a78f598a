#include "scenario.h"

#include <yaml-cpp/yaml.h>

#include <algorithm>
#include <fstream>
#include <functional>
#include <iomanip>
#include <set>
#include <sstream>

#include "text/duration.h"
#include "text/identifier.h"

namespace ebbwatch::fleet {
namespace {

constexpr std::size_t controllers_max = 100'000;

/// Collects every problem of a file, so that one run shows them all.
class Reader {
 public:
  explicit Reader(std::string name) : name_(std::move(name)) {}

  const std::string& problems() const { return problems_; }
  void wrong(const YAML::Node& at, const std::string& key, const std::string& text) {
    const auto mark = at.Mark();
    problems_ += name_ + ":" + std::to_string(mark.line + 1) + ":" +
                 std::to_string(mark.column + 1) + ": " + key + ": " + text + "\n";
  }
  /// Every key of a map must be one of these.
  bool is_map_of(const YAML::Node& map, const std::string& key,
                 const std::vector<std::string>& known) {
    if (!map.IsMap()) return wrong(map, key, "a map is wanted here"), false;
    for (const auto& entry : map) {
      const auto name = entry.first.as<std::string>("");
      if (std::find(known.begin(), known.end(), name) != known.end()) continue;
      std::string text = "unknown key; allowed are";
      for (const auto& word : known) text += " " + word;
      if (const auto nearest = nearest_word(name, known))
        text += ". Did you mean " + *nearest + "?";
      wrong(entry.first, name, text);
    }
    return true;
  }
  void duration(const YAML::Node& map, const std::string& key, Span& out, bool above_zero) {
    const auto node = map[key];
    if (!node) return;
    const auto parsed = parse_duration(node.as<std::string>(""));
    if (!parsed) return wrong(node, key, parsed.error().text);
    if (above_zero && parsed.value() <= Span{}) return wrong(node, key, "must be above 0");
    out = parsed.value();
  }
  void number(const YAML::Node& map, const std::string& key, double low, double high, double& out) {
    const auto node = map[key];
    if (!node) return;
    const auto value = node.as<double>(-1e300);
    if (value >= low && value <= high) {
      out = value;
      return;
    }
    std::ostringstream range;
    range << std::setprecision(17);
    range << "found " << node.as<std::string>("something else") << "; allowed is a number from "
          << low << " to " << high;
    wrong(node, key, range.str());
  }
  void identifier(const YAML::Node& map, const std::string& key, bool required, std::string& out) {
    const auto node = map[key];
    if (!node) {
      if (required) wrong(map, key, "is missing");
      return;
    }
    out = node.as<std::string>("");
    if (!is_identifier(out)) {
      wrong(node, key,
            "found \"" + out +
                "\"; allowed are 1 to 63 of a-z, 0-9 and -, beginning with "
                "a letter");
    }
  }
  void each(const YAML::Node& map, const std::string& key,
            const std::function<void(const YAML::Node&)>& read) {
    const auto list = map[key];
    if (!list) return;
    if (!list.IsSequence()) return wrong(list, key, "a list is wanted here");
    for (const auto& item : list) read(item);
  }

 private:
  std::string name_, problems_;
};

void read_habits(Reader& in, const YAML::Node& map, FleetController& out) {
  in.duration(map, "interval", out.interval, true);
  in.duration(map, "jitter", out.jitter, false);
  in.duration(map, "start_delay", out.start_delay, false);
  if (out.jitter > out.interval) {
    in.wrong(map, "jitter", "must be at most the interval, or check-ins would overtake each other");
  }
  in.number(map, "loss", 0, 1, out.loss);
  const auto supply = map["supply"];
  if (!supply) return;
  const auto word = supply.as<std::string>("");
  if (word != "mains" && word != "battery_backed") {
    in.wrong(supply, "supply", "found \"" + word + "\"; allowed are mains and battery_backed");
  }
  out.battery_backed = word == "battery_backed";
}

void read_controller(Reader& in, const YAML::Node& node, FleetController controller,
                     Scenario& out) {
  if (!in.is_map_of(node, "controllers",
                    {"id", "site", "interval", "jitter", "loss", "start_delay", "supply"})) {
    return;
  }
  in.identifier(node, "id", true, controller.id);
  in.identifier(node, "site", false, controller.site);
  read_habits(in, node, controller);
  out.controllers.push_back(controller);
}

std::string numbered(const std::string& prefix, std::size_t number, std::size_t digits) {
  auto text = std::to_string(number);
  if (text.size() < digits) text.insert(0, digits - text.size(), '0');
  return prefix + "-" + text;
}

void generate(Reader& in, const YAML::Node& node, FleetController controller, Scenario& out) {
  if (!in.is_map_of(
          node, "generate",
          {"prefix", "count", "sites", "interval", "jitter", "loss", "start_delay", "supply"})) {
    return;
  }
  std::string prefix;
  double count = 0;
  double sites = 1;
  in.identifier(node, "prefix", true, prefix);
  in.number(node, "count", 1, static_cast<double>(controllers_max), count);
  in.number(node, "sites", 1, static_cast<double>(controllers_max), sites);
  read_habits(in, node, controller);
  const auto total = static_cast<std::size_t>(count);
  const std::size_t digits = std::max<std::size_t>(3, std::to_string(total).size());
  for (std::size_t i = 0; i < total; ++i) {
    controller.id = numbered(prefix, i + 1, digits);
    controller.site = numbered(prefix + "-site", 1 + i % static_cast<std::size_t>(sites), 1);
    out.controllers.push_back(controller);
  }
}

void read_happening(Reader& in, const YAML::Node& node, Scenario& out) {
  if (!in.is_map_of(node, "happenings", {"at", "for", "blip", "mains_cut", "crash"})) return;
  Happening happening;
  int kinds = 0;
  const auto kind = [&](const std::string& key, Happening::Kind value) {
    if (!node[key]) return;
    ++kinds;
    happening.kind = value;
    in.identifier(node, key, true, happening.subject);
  };
  kind("blip", Happening::Kind::blip);
  kind("mains_cut", Happening::Kind::mains_cut);
  kind("crash", Happening::Kind::crash);
  if (kinds != 1) in.wrong(node, "happenings", "give exactly one of blip, mains_cut, crash");
  for (const char* key : {"at", "for"}) {
    if (!node[key]) in.wrong(node, key, "is missing");
  }
  in.duration(node, "at", happening.at, false);
  in.duration(node, "for", happening.length, true);
  out.happenings.push_back(happening);
}

/// What only the whole shows: names given twice, happenings to nobody.
void check_whole(Reader& in, const YAML::Node& root, const Scenario& scenario) {
  std::set<std::string> ids;
  std::set<std::string> sites;
  for (const auto& controller : scenario.controllers) {
    if (!ids.insert(controller.id).second) {
      in.wrong(root, "controllers", "\"" + controller.id + "\" is there twice");
    }
    sites.insert(controller.site);
  }
  if (ids.empty()) in.wrong(root, "controllers", "none; give controllers or generate some");
  if (ids.size() > controllers_max) in.wrong(root, "controllers", "at most 100000");
  for (const auto& happening : scenario.happenings) {
    const bool site_good =
        happening.kind != Happening::Kind::crash && sites.contains(happening.subject);
    const bool one_good =
        happening.kind != Happening::Kind::mains_cut && ids.contains(happening.subject);
    if (site_good || one_good) continue;
    const char* wanted = happening.kind == Happening::Kind::crash       ? "controller"
                         : happening.kind == Happening::Kind::mains_cut ? "site"
                                                                        : "controller or site";
    in.wrong(root["happenings"], "happenings",
             "\"" + happening.subject + "\" is no " + wanted + " of this scenario");
  }
}

void read_all(Reader& in, const YAML::Node& root, Scenario& out) {
  if (!in.is_map_of(root, "the file",
                    {"daemon", "seed", "length", "compression", "defaults", "controllers",
                     "generate", "happenings"})) {
    return;
  }
  if (root["daemon"]) out.daemon = root["daemon"].as<std::string>("");
  double seed = 1;
  in.number(root, "seed", 0, 9007199254740991, seed);
  out.seed = static_cast<std::uint64_t>(seed);
  in.duration(root, "length", out.length, true);
  in.number(root, "compression", 0.001, 100'000, out.compression);
  FleetController defaults;
  if (const auto node = root["defaults"];
      node &&
      in.is_map_of(node, "defaults", {"interval", "jitter", "loss", "start_delay", "supply"})) {
    read_habits(in, node, defaults);
  }
  in.each(root, "controllers", [&](const auto& node) { read_controller(in, node, defaults, out); });
  in.each(root, "generate", [&](const auto& node) { generate(in, node, defaults, out); });
  in.each(root, "happenings", [&](const auto& node) { read_happening(in, node, out); });
  std::stable_sort(out.happenings.begin(), out.happenings.end(),
                   [](const auto& a, const auto& b) { return a.at < b.at; });
  check_whole(in, root, out);
}

}  // namespace

Result<Scenario> read_scenario(std::string_view yaml, const std::string& name) {
  Reader in(name);
  Scenario out;
  try {
    read_all(in, YAML::Load(std::string(yaml)), out);
  } catch (const YAML::Exception& problem) {
    return Error{Errc::bad_input, name + ":" + std::to_string(problem.mark.line + 1) + ":" +
                                      std::to_string(problem.mark.column + 1) + ": " + problem.msg +
                                      "\n"};
  }
  if (!in.problems().empty()) return Error{Errc::bad_input, in.problems()};
  return out;
}

Result<Scenario> read_scenario_file(const std::string& path) {
  std::ifstream file(path);
  std::stringstream text;
  if (file) text << file.rdbuf();
  if (!file) return Error{Errc::not_found, path + ": cannot be read\n"};
  return read_scenario(text.str(), path);
}

}  // namespace ebbwatch::fleet
