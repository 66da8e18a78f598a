// Text from outside, made harmless in HTML, XML and SVG. Pure.
#pragma once

#include <string>
#include <string_view>

namespace ebbwatch {

/// Appends `text` for element content or a quoted attribute: & < > " ' are escaped, control
/// characters other than line end and tab become U+FFFD. @param text UTF-8.
void escape_into(std::string& out, std::string_view text);
std::string escaped(std::string_view text);

}  // namespace ebbwatch
