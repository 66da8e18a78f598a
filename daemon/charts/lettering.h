// Names as a chart may show them. Private to charts/.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace ebbwatch::charts {

/// One line of valid UTF-8 without control characters; what cannot be shown becomes U+FFFD, line
/// ends become spaces.
std::string clean(std::string_view text);
/// For XML text and attributes; cleans as well.
std::string escaped(std::string_view text);
/// How many characters there are.
std::size_t width(std::string_view clean_text);
/// Padded with spaces on the left, or cut, to exactly so many characters.
std::string right_aligned(std::string_view clean_text, std::size_t columns);
/// Cut to at most so many characters; a cut is shown by two points.
std::string cut(std::string_view clean_text, std::size_t columns);
/// Lines of at most so many characters, broken at spaces where there are any. Never empty.
std::vector<std::string> wrapped(std::string_view clean_text, std::size_t columns);

}  // namespace ebbwatch::charts
