// The half-sentences that notices are built from, chosen for a story and said in the keyholder's
// language. The words themselves are in words/catalogue_*.cpp.
#pragma once

#include <string>

#include "core/decision.h"
#include "core/time.h"
#include "notices/lines.h"
#include "notices/story.h"
#include "words/speech.h"

namespace ebbwatch {

/// How sure, in words: "almost certainly", "very probably", "probably", "possibly". Bounds are
/// ours; over one half is "probably" after OASIS CAP 1.2 (Likely: p > 50 %).
Phrase sureness(double confidence);
/// "Probably the mains power is off (about 70 in 100)."; says plainly when it is not known.
std::string cause_sentence(const Speech& say, const Story& story);
/// "probably mains power off"; empty when the cause is not known.
std::string short_cause(const Speech& say, const Story& story);

/// Who and where, as it follows "contact with": "Lagoon reef at Elm Street", "the whole site Elm
/// Street".
std::string who(const Speech& say, const Story& story);
/// The same as a heading in at most `room`: "Lagoon reef, Elm Street". The place is left out and
/// then the name shortened when there is no room.
std::string heading(const Speech& say, const Story& story, std::size_t room, Measure measure);

/// What nobody can know from silence, for this story's scope.
std::string not_known(const Speech& say, const Story& story);
/// What to look at first when the owner has written no instructions.
std::string default_check(const Speech& say, const Story& story);

}  // namespace ebbwatch
