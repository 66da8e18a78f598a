// The configuration file (settings/load.h, yaml_tree.h).
#include <algorithm>

#include "fuzz.h"
#include "settings/load.h"
#include "settings/plan.h"
#include "settings/yaml_tree.h"

using namespace ebbwatch;

namespace {

bool is_in(const TextPlace& place, std::string_view yaml) {
  const auto lines = std::count(yaml.begin(), yaml.end(), '\n') + 1;
  return place.line >= 0 && place.line <= lines + 1 && place.column >= 0;
}

/// A file without problems can be watched by, and says the same when it is read again.
void use(const Loaded& loaded) {
  const WatchPlan plan = make_plan(loaded.settings);
  std::size_t controllers = 0;
  for (const SiteSettings& site : loaded.settings.sites) {
    for (const TankSettings& tank : site.tanks) {
      for (const ControllerSettings& controller : tank.controllers) {
        MUST(find_controller(plan, controller.id));
        ++controllers;
      }
    }
  }
  MUST(plan.controllers.size() == controllers);
  MUST(plan.sites.size() == loaded.settings.sites.size());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view yaml = fuzz::Input(data, size).rest();
  const YamlTree tree = parse_yaml(yaml);
  MUST((tree.root == nullptr) == tree.fault.has_value());
  if (tree.fault) MUST(is_in(tree.fault->place, yaml));
  const Loaded loaded = load_settings_text(yaml, "ebbwatch.yaml");
  if (tree.fault) MUST(loaded.problems.size() == 1);
  for (const Problem& problem : loaded.problems) {
    MUST(is_in({problem.line, problem.column}, yaml));
    MUST(!problem.found.empty() && !problem.allowed.empty() && is_utf8(text(problem)));
  }
  if (loaded.problems.empty()) use(loaded);
  return 0;
}
