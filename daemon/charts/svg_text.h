// Small pieces of SVG that both kinds of chart write. Private to charts/.
#pragma once

#include <string>
#include <string_view>

namespace ebbwatch::charts {

/// One decimal at most, never "-0".
std::string svg_number(double value);
std::string svg_line(double x1, double y1, double x2, double y2, const std::string& more = "");
/// Escapes `text`. @param anchor "start", "middle" or "end".
std::string svg_words(double x, double y, const char* anchor, const std::string& text,
                      const std::string& more = "");
/// `wanted` without what an identifier may not hold, and with a letter in front.
std::string svg_id(std::string_view wanted, const std::string& prefix);

}  // namespace ebbwatch::charts
