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
    out << "</th><td data-head=\"Contact\">" << line.contact;
    if (!line.note.empty()) out << "<br><span class=\"quiet\">" << line.note << "</span>";
    out << "</td><td data-head=\"Last heard\">" << moment_part(line.last_heard)
        << "</td><td data-head=\"Every\">" << line.interval << "</td><td data-head=\"Supply\">"
        << line.supply << "</td></tr>\n";
  }
  return out << "</tbody></table>\n";
}

Html table_of(const charts::StripChart& strip) {
  Html out;
  const auto rows = charts::table(strip);
  out << "<details><summary>The same as a table</summary><div class=\"wide\" tabindex=\"0\" "
         "role=\"region\" aria-label=\"Table of the strip\"><table><thead><tr>";
  for (const auto& cell : rows.front()) out << "<th scope=\"col\">" << cell << "</th>";
  out << "</tr></thead><tbody>\n";
  for (std::size_t i = 1; i < rows.size(); ++i) {
    out << "<tr><th scope=\"row\">" << rows[i].front() << "</th>";
    for (std::size_t j = 1; j < rows[i].size(); ++j) out << "<td>" << rows[i][j] << "</td>";
    out << "</tr>\n";
  }
  return out << "</tbody></table></div></details>\n";
}

Html strip_part(const TankSheet& tank) {
  Html out;
  if (!tank.strip) return out;
  return out << "<figure class=\"paper\">" << *tank.strip << "</figure>\n" << table_of(*tank.strip);
}

Html strips_choice(const SiteView& view) {
  Html out;
  out << "<p class=\"stretches\">Strips over the last";
  for (const std::string key : {"day", "week", "month"}) {
    if (key == view.strips_of) {
      out << " <b aria-current=\"true\">" << key << "</b>";
    } else {
      out << " <a href=\"/site/" << view.id << "?strips=" << key << "\">" << key << "</a>";
    }
  }
  out << "</p>\n";
  if (!view.complaint.empty()) {
    out << "<p class=\"complaint\" role=\"alert\">" << view.complaint << "</p>\n";
  }
  return out;
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
         << roll(tank) << strip_part(tank) << "</section>\n";
  }
  main << strips_choice(view) << call_list_part(view) << drill_form(frame, view);
  return in_frame(frame, view.name + ", " + frame.watcher, main);
}

}  // namespace ebbwatch
