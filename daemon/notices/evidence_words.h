// What speaks for a decision, in a keyholder's language. English is worded by the core itself
// (core/wording.h), so that replay and data need no catalogue; a test holds the two equal.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "core/decision.h"
#include "core/site_plan.h"
#include "core/time.h"
#include "words/speech.h"

namespace ebbwatch {

/// All sentences of a decision in order of weight.
/// @param to_wall when empty, instants are taken as wall times.
std::vector<std::string> sentences_in(const Speech& say, const Decision& decision,
                                      const WatchPlan& plan,
                                      const std::function<WallTime(Instant)>& to_wall);

}  // namespace ebbwatch
