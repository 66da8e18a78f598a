// A line of the record as it was stored: what was decided (FORMATS section 5), or what somebody
// did.
#pragma once

#include <string>
#include <vector>

#include "ports/store.h"

namespace ebbwatch {

struct StoredDecision {
  std::string kind, scope, subject, cause;
  double confidence = 0;
  WallTime at, since;
  std::uint64_t outage = 0;
  std::vector<std::string> evidence;
  std::string by, text;  ///< Of acts: who, and their note or reason.
  bool act = true;       ///< Somebody did it, or the watcher for them; not a decision.
};

/// What cannot be read of the row's JSON stays empty.
StoredDecision read_decision(const DecisionRow& row);
/// For people: "Loss", "Marked as a false alarm". A kind that is not known stands for itself.
std::string decision_words(const std::string& kind);

/// Kinds of lines that people add to an outage's record.
inline constexpr const char* note_kind = "note";
inline constexpr const char* false_kind = "marked_false";
inline constexpr const char* true_kind = "marked_true";

}  // namespace ebbwatch
