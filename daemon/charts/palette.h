// Colours, dashes and markers of the SVG form. Private to charts/.
#pragma once

#include <array>

namespace ebbwatch::charts {

/// Each colour has a contrast of at least 4.5 : 1 with its ground (WCAG 2.2, 1.4.3; a test
/// computes it), and neighbours differ in lightness as well.
struct Colour {
  const char *light, *dark;
};
inline constexpr Colour ground{"#ffffff", "#14181c"};
inline constexpr Colour ink{"#1c2024", "#e8ecf0"};
inline constexpr Colour faint{"#63696f", "#9aa3ab"};
inline constexpr std::array<Colour, 6> line_colours{{{"#005fa3", "#6bb6ff"},
                                                     {"#b34700", "#ff9d5c"},
                                                     {"#00704f", "#4fd6a8"},
                                                     {"#91306f", "#f0a0cf"},
                                                     {"#6d5400", "#ffd166"},
                                                     {"#444e5c", "#c4ceda"}}};
/// Lengths on and off; empty: unbroken. Six colours and five dashes: thirty lines differ in both.
inline constexpr std::array<const char *, 5> dashes{"", "6 3", "2 2", "8 2 2 2", "1 3"};
enum class Marker { circle, square, triangle, diamond, cross, plus };
inline constexpr std::array<Marker, 6> markers{Marker::circle,  Marker::square, Marker::triangle,
                                               Marker::diamond, Marker::cross,  Marker::plus};

}  // namespace ebbwatch::charts
