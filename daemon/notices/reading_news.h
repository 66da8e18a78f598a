// What a notice says of a reading that is out of its limits, in the keyholder's language.
#pragma once

#include <string>

#include "notices/story.h"
#include "words/speech.h"

namespace ebbwatch {

// Each of them: @pre story.reading.

/// "water 29.1 °C, above its limit of 28 °C, since 14:02"; of its end "…, normal again after 2 h".
std::string reading_news(const Speech& say, const Story& story);
/// The same in little room: "water 29.1 °C, limit 28 °C".
std::string reading_headline(const Speech& say, const Story& story);
/// The first sentence of a mail.
std::string opening_of_reading(const Speech& say, const Story& story);
/// What to look at first when the owner has written no instructions.
std::string check_of_reading(const Speech& say, const Story& story);

}  // namespace ebbwatch
