// The single sentences and half-sentences that notices are built from, in English. Everything that
// a person reads in a notice is written here, in compose.cpp or in short_text.cpp.
#pragma once

#include <string>

#include "core/decision.h"
#include "core/time.h"
#include "notices/lines.h"
#include "notices/story.h"

namespace ebbwatch {

/// How sure, in words: "almost certainly", "very probably", "probably", "possibly". Bounds are
/// ours; over one half is "probably" after OASIS CAP 1.2 (Likely: p > 50 %).
std::string sureness(double confidence);
/// "the mains power is off", or with `past` "the mains power was off". Not for undetermined.
std::string cause_clause(Cause cause, bool past);
/// Two or three words for a short text: "mains power off".
std::string cause_words(Cause cause);
/// "Probably the mains power is off (about 70 in 100)."; says plainly when it is not known.
std::string cause_sentence(const Story& story);
/// "probably mains power off"; empty when the cause is not known.
std::string short_cause(const Story& story);

/// Who and where in running text: "Lagoon reef at Elm Street", "the whole site Elm Street".
std::string who(const Story& story);
/// The same as a heading in at most `room`: "Lagoon reef, Elm Street". The place is left out and
/// then the name shortened when there is no room.
std::string heading(const Story& story, std::size_t room, Measure measure);

/// What nobody can know from silence, for this story's scope.
std::string not_known(const Story& story);
/// What to look at first when the owner has written no instructions.
std::string default_check(const Story& story);
/// The one line of caution.
std::string caution();

}  // namespace ebbwatch
