#include "board/pages.h"

namespace ebbwatch {
namespace {

Html facts(const SiteView& view) {
  Html out;
  out << "<dl class=\"facts\"><div><dt>Contact</dt><dd>" << view.contact
      << "</dd></div><div><dt>Alarm</dt><dd>" << view.alarm << "</dd></div>";
  if (!view.area.empty()) out << "<div><dt>Area</dt><dd>" << view.area << "</dd></div>";
  if (!view.provider.empty()) out << "<div><dt>Provider</dt><dd>" << view.provider << "</dd></div>";
  return out << "</dl>\n";
}

Html instructions_part(const std::string& text) {
  Html out;
  if (!text.empty()) out << "<p class=\"instructions\"><b>Check first:</b> " << text << "</p>\n";
  return out;
}

Html roll(const TankSheet& tank) {
  Html out;
  out << "<table class=\"register\"><caption>Roll of controllers of " << tank.name
      << "</caption><thead><tr><th scope=\"col\">Controller</th><th scope=\"col\">Contact</th>"
         "<th scope=\"col\">Last heard</th><th scope=\"col\">Every</th><th "
         "scope=\"col\">Supply</th>"
         "</tr></thead><tbody>\n";
  for (const auto& line : tank.controllers) {
    out << "<tr><th scope=\"row\">" << line.name;
    if (line.name != line.id) out << " <span class=\"quiet\">" << line.id << "</span>";
    out << "</th><td data-head=\"Contact\">" << line.contact << "</td><td data-head=\"Last heard\">"
        << moment_part(line.last_heard) << "</td><td data-head=\"Every\">" << line.interval
        << "</td><td data-head=\"Supply\">" << line.supply << "</td></tr>\n";
  }
  return out << "</tbody></table>\n";
}

Html call_list_part(const SiteView& view) {
  Html out;
  out << "<section aria-labelledby=\"calls\"><h2 id=\"calls\">Call list</h2>\n";
  if (view.call_list.empty()) return out << "<p>Nobody is told of this site.</p></section>\n";
  out << "<ol class=\"calls\">";
  for (const auto& step : view.steps) {
    out << "<li><b>" << step.after << "</b>: " << step.whom << ", by " << step.by << "</li>";
  }
  out << "</ol>";
  if (!view.repeats.empty()) out << "<p>" << view.repeats << "</p>";
  return out << "<p class=\"quiet\">The list goes on only while nobody has acknowledged.</p>"
                "</section>\n";
}

}  // namespace

std::string site_page(const Frame& frame, const SiteView& view) {
  Html main;
  main << "<h1>" << view.name << "</h1>\n"
       << facts(view) << instructions_part(view.instructions) << put_away_part(frame, view);
  for (const auto& tank : view.tanks) {
    main << "<section aria-label=\"" << tank.name << "\"><h2>" << tank.name;
    if (!tank.volume.empty()) main << " <span class=\"quiet\">" << tank.volume << "</span>";
    main << "</h2>\n<ul class=\"windows single\">" << window_part(tank.window) << "</ul>\n"
         << clocks_part(tank.clocks, tank.name) << instructions_part(tank.instructions)
         << roll(tank) << "</section>\n";
  }
  main << call_list_part(view) << drill_form(frame, view);
  return in_frame(frame, view.name + ", " + frame.watcher, main);
}

}  // namespace ebbwatch
