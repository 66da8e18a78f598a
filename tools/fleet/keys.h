// The controllers' keys: a JSON object {"CONTROLLER": "KEY", …}, or what `ebbwatch enrol CONTROLLER
// --json` prints, once or several times one after the other.
#pragma once

#include <map>
#include <string>
#include <string_view>

#include "core/result.h"

namespace ebbwatch::fleet {

/// By controller; a later key of the same controller replaces an earlier one, as in the daemon.
Result<std::map<std::string, std::string>> read_keys(std::string_view text);
Result<std::map<std::string, std::string>> read_keys_file(const std::string& path);

}  // namespace ebbwatch::fleet
