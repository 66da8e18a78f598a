// Reads the configuration file with everything that it includes. Only settings/yaml_tree.cpp knows
// yaml-cpp.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "settings/settings.h"

namespace ebbwatch {

/// One thing that is wrong, with its place and the remedy.
struct Problem {
  std::string file;
  int line = 0, column = 0;  ///< From 1; 0 when the whole file is meant.
  std::string key;           ///< Path in the file: "sites[0].tanks[1].volume_l".
  std::string found, allowed;
  std::string hint;  ///< "Did you mean on_delay?"; may be empty.
};
/// "ebbwatch.yaml:12:5: detection.on_dealy: unknown key; allowed: …. Did you mean on_delay?"
std::string text(const Problem& problem);

struct Loaded {
  Settings settings;  ///< Complete only when `problems` is empty.
  std::vector<Problem> problems;
};
/// Never throws. All problems of all files in one run: syntax, types, unknown keys, ranges,
/// duplicate identifiers, dangling references.
Loaded load_settings(const std::string& path);
/// As above with single detection settings put over those of the file, to try them out: PATH=VALUE,
/// "detection.on_delay=8min", "sites.elm-street.detection.steadiness.half_life=2h". A problem of
/// one has "--set PATH=VALUE" for its file and no line.
Loaded load_settings_with(const std::string& path, const std::vector<std::string>& assignments);
/// As above from a text; `name` stands for the file in problems. Includes are not followed.
Loaded load_settings_text(std::string_view yaml, const std::string& name);

}  // namespace ebbwatch
