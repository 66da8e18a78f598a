// Where the board can be reached.
#pragma once

#include <string>

#include "settings/settings.h"

namespace ebbwatch {

/// "http://127.0.0.1:8461/"; empty when no board is configured.
std::string board_address(const Settings& settings);

}  // namespace ebbwatch
