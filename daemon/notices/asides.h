// The lines of a notice that do not tell the decision itself: how to answer, who has it, what did
// not arrive, where it comes from.
#pragma once

#include <string>

#include "notices/compose.h"
#include "notices/story.h"

namespace ebbwatch {

/// "To take it on: …" with the link and the code; empty when there is neither or nothing to take
/// on.
std::string how_to_answer(const Story& story, const Telling& telling);
/// The whole notice of a topic other than a decision.
std::string aside_text(const Story& story, const Telling& telling);
/// The short text of such a notice, in at most 160 septets.
std::string aside_short_text(const Story& story, const Telling& telling);
/// The last lines: which outage, seen by whom.
std::string closing(const Story& story, const Telling& telling);

}  // namespace ebbwatch
