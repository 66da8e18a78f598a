// What a text from a person means: whose number it came from, and which open questions its codes
// answer.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "core/ids.h"
#include "ports/incoming.h"
#include "settings/settings.h"

namespace ebbwatch {

/// Whether two telephone numbers are the same but for blanks, hyphens and the way of writing the
/// international prefix ("+1…", "001…", "1…"). Two numbers without digits are never the same.
bool same_number(std::string_view a, std::string_view b);
/// The keyholder with that number; null when there is none.
const KeyholderSettings* keyholder_of(const Settings& settings, std::string_view number);

/// Takes outages on for people; implemented by the engine's side.
class ReplySink {
 public:
  virtual ~ReplySink() = default;
  /// Running outages and exercises.
  virtual std::vector<OutageId> open_questions() const = 0;
  virtual IncomingAnswer answer_by_text(OutageId outage, const KeyholderSettings& keyholder) = 0;
  /// Whether the keyholder was told of this outage and nobody has it.
  virtual bool waits_for(OutageId outage, const std::string& keyholder) const = 0;
};

/// Of several codes in one text the best answer is given.
IncomingAnswer read_reply(const Settings& settings, ReplySink& sink, const std::string& from,
                          const std::string& text);

}  // namespace ebbwatch
