#include "charts/svg_text.h"

#include <array>
#include <charconv>
#include <cmath>

#include "charts/lettering.h"

namespace ebbwatch::charts {

std::string svg_number(double value) {
  std::array<char, 32> text{};
  const auto end =
      std::to_chars(text.data(), text.data() + text.size(), std::round(value * 10) / 10 + 0.0);
  return {text.data(), end.ptr};
}

std::string svg_line(double x1, double y1, double x2, double y2, const std::string& more) {
  return "<line x1=\"" + svg_number(x1) + "\" y1=\"" + svg_number(y1) + "\" x2=\"" +
         svg_number(x2) + "\" y2=\"" + svg_number(y2) + "\"" + more + "/>\n";
}

std::string svg_words(double x, double y, const char* anchor, const std::string& text,
                      const std::string& more) {
  return "<text x=\"" + svg_number(x) + "\" y=\"" + svg_number(y) + "\" text-anchor=\"" + anchor +
         "\"" + more + ">" + escaped(text) + "</text>\n";
}

std::string svg_id(std::string_view wanted, const std::string& prefix) {
  std::string id;
  for (const char c : wanted) {
    const bool fits = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-';
    if (fits) id += c;
  }
  return id.empty() || id.front() < 'a' ? prefix + id : id;
}

}  // namespace ebbwatch::charts
