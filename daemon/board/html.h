// HTML under construction. Text from outside can only get in escaped: what is written as it stands
// must be a literal of the source, which the compiler checks.
#pragma once

#include <concepts>
#include <string>
#include <string_view>

#include "charts/strip_chart.h"
#include "text/markup.h"

namespace ebbwatch {

/// Markup that was written in the source.
class Literal {
 public:
  consteval Literal(const char* markup) : markup_(markup) {}  // NOLINT(google-explicit-constructor)
  constexpr std::string_view text() const { return markup_; }

 private:
  std::string_view markup_;
};

class Html {
 public:
  Html& operator<<(Literal markup) {
    out_ += markup.text();
    return *this;
  }
  /// Escaped.
  template <class Text>
  requires std::same_as<Text, std::string> || std::same_as<Text, std::string_view> Html& operator<<(
      const Text& text) {
    escape_into(out_, text);
    return *this;
  }
  /// A drawing, which escapes its texts itself and leaves its colours to the style sheet.
  Html& operator<<(const charts::StripChart& chart) {
    out_ += charts::svg(chart, charts::Styling::by_page);
    return *this;
  }
  Html& operator<<(const Html& part) {
    out_ += part.out_;
    return *this;
  }

  const std::string& str() const { return out_; }
  bool empty() const { return out_.empty(); }

 private:
  std::string out_;
};

}  // namespace ebbwatch
