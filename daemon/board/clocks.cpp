// How long a tank has: two dials of 24 hours. The full arc is time that is there, the thin one
// behind it time that may be.
#include <cstdio>

#include "board/pages.h"
#include "timeleft/estimate.h"

namespace ebbwatch {
namespace {

std::string arc(double hours) {
  char text[32];
  std::snprintf(text, sizeof text, "%g 24", hours);
  return text;
}

Html dial(const ClockFace& face) {
  Html out;
  out << "<svg class=\"dial\" viewBox=\"0 0 24 24\" aria-hidden=\"true\">"
         "<circle class=\"rim\" cx=\"12\" cy=\"12\" r=\"11\"/>";
  if (face.running) {
    out << "<circle class=\"may\" cx=\"12\" cy=\"12\" r=\"8\" pathLength=\"24\" "
           "stroke-dasharray=\""
        << arc(face.high_h)
        << "\"/><circle class=\"sure\" cx=\"12\" cy=\"12\" r=\"6\" pathLength=\"24\" "
           "stroke-dasharray=\""
        << arc(face.low_h) << "\"/>";
  }
  return out << "</svg>";
}

Html list_of(const std::vector<std::string>& sentences) {
  Html out;
  out << "<ul>";
  for (const auto& sentence : sentences) out << "<li>" << sentence << "</li>";
  return out << "</ul>";
}

}  // namespace

Html small_clocks(const ClocksView& view) {
  Html out;
  for (const auto& face : view.faces) {
    if (!face.running) continue;
    out << "<span class=\"clock\">" << dial(face) << "<span>" << face.text << "</span></span>";
  }
  if (out.empty()) return out;
  Html all;
  return all << "<span class=\"clocks\"><span>" << view.condition << "</span>" << out << "</span>";
}

Html clocks_part(const ClocksView& view, const std::string& name) {
  Html out;
  if (view.faces.empty()) return out;
  out << "<div class=\"time-left\" id=\"time-left-" << view.tank << "\"><h3>Time left of " << name
      << "</h3><p>" << view.condition << "</p>\n";
  for (const auto& face : view.faces) {
    out << "<p class=\"clock\">" << dial(face) << "<span>";
    if (!face.running) out << face.name << ": no estimate; ";
    out << face.text << "</span></p>\n";
  }
  out << "<details><summary>What this assumes, and how to take care</summary>";
  if (!view.assumptions.empty()) out << list_of(view.assumptions);
  return out << list_of(time_left_caution()) << "</details></div>\n";
}

}  // namespace ebbwatch
