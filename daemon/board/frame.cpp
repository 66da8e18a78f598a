#include <algorithm>

#include "board/pages.h"

namespace ebbwatch {
namespace {

Html head(const std::string& title) {
  Html out;
  out << "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<title>" << title
      << "</title>\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
         "<meta name=\"color-scheme\" content=\"light dark\">\n"
         "<link rel=\"icon\" href=\"/board.svg\" type=\"image/svg+xml\">\n"
         "<link rel=\"stylesheet\" href=\"/board.css\">\n"
         "<script src=\"/board.js\" defer></script>\n</head>\n";
  return out;
}

Html nameplate(const Frame& frame) {
  Html out;
  if (!frame.wall_key.empty()) {
    return out << "<header>\n<p class=\"nameplate\">Watcher <b>" << frame.watcher
               << "</b></p>\n</header>\n";
  }
  out << "<header>\n<p class=\"nameplate\"><a href=\"/\">Watcher <b>" << frame.watcher
      << "</b></a></p>\n<nav aria-label=\"Pages\"><a href=\"/\">Panel</a> "
         "<a href=\"/history\">History</a> <a href=\"/performance\">Performance</a> "
         "<a href=\"/drills\">Drills</a></nav>\n"
         "<form class=\"leave\" method=\"post\" action=\"/logout\">"
         "<input type=\"hidden\" name=\"form_token\" value=\""
      << frame.form_token << "\"><span>" << frame.person << ", " << std::string(word(frame.role))
      << "</span> <button>Leave</button></form>\n</header>\n";
  return out;
}

Html remarks_part(const Frame& frame) {
  Html out;
  if (frame.remarks.empty()) return out;
  out << "<section class=\"remarks\" aria-label=\"About the watcher itself\"><ul>";
  for (const auto& remark : frame.remarks) out << "<li>" << remark << "</li>";
  out << "</ul></section>\n";
  return out;
}

}  // namespace

Html moment_part(const Moment& moment) {
  Html out;
  if (moment.iso.empty()) return out << "never";
  return out << "<time datetime=\"" << moment.iso << "\">" << moment.shown << "</time>";
}

Html lines_part(const std::string& text) {
  Html out;
  for (std::size_t at = 0; at <= text.size();) {
    const auto end = std::min(text.find('\n', at), text.size());
    if (at > 0) out << "<br>";
    out << text.substr(at, end - at);
    at = end + 1;
  }
  return out;
}

std::string in_frame(const Frame& frame, const std::string& title, const Html& main) {
  Html out;
  out << head(title) << "<body>\n<a class=\"skip\" href=\"#main\">To the content</a>\n"
      << nameplate(frame) << remarks_part(frame) << "<main id=\"main\">\n"
      << main << "</main>\n<footer><p>As of " << moment_part(frame.now)
      << ". ebbwatch helps people to notice; it is not a life-safety system. At the tank: dry "
         "hands, mind the drip loops, breaker off before you reach into water near damaged "
         "equipment.</p></footer>\n</body>\n</html>\n";
  return out.str();
}

}  // namespace ebbwatch
