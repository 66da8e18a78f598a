// Single detection settings put over those of the file, for trying others out: "what if". Private
// to settings/.
#pragma once

#include <string>

#include "settings/keys.h"

namespace ebbwatch {

/// Puts "detection.on_delay=8min" or "sites.ID.tanks.ID.controllers.ID.detection.KEY=VALUE" over
/// the draft. What is wrong is noted with the reader, in the words used for the file. A delay takes
/// the place of a wish of the same level, and a wish that of delays.
void put_over(Reader& reader, Draft& draft, const std::string& assignment);

}  // namespace ebbwatch
