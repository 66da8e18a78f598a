// A story as JSON and back: kept beside its notice, so that it can be told again after a restart.
#pragma once

#include <boost/json/object.hpp>

#include "core/result.h"
#include "notices/story.h"

namespace ebbwatch {

boost::json::object story_to_json(const Story& story);
/// Errors: bad_input naming the member that is missing or has the wrong type.
Result<Story> story_from_json(const boost::json::object& object);

}  // namespace ebbwatch
