// Private to settings/.
#pragma once

#include <string>

namespace ebbwatch {

/// Whether the text is a regular expression that the gateway's answer can be matched with:
/// ECMAScript without back-references.
bool is_regular_expression(const std::string& text);

}  // namespace ebbwatch
