// The answer of `status` for people: a roll of sites, tanks and controllers, at most 80 columns
// wide. Pure: JSON of app/status_view in, text out.
#pragma once

#include <boost/json/object.hpp>
#include <string>

#include "core/time.h"

namespace ebbwatch {

/// @param now for "3 min ago". @pre `status` has the form of FORMATS section 6.
std::string roll_text(const boost::json::object& status, WallTime now);

/// When each way to each person was last proven, and how the newest exercise stands; empty for a
/// daemon that does not say.
std::string ways_text(const boost::json::object& status, WallTime now);

}  // namespace ebbwatch
