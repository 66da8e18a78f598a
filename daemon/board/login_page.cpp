#include "board/pages.h"

namespace ebbwatch {

std::string login_page(const LoginView& view) {
  Html out;
  out << "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<title>Enter, "
      << view.watcher
      << "</title>\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
         "<meta name=\"color-scheme\" content=\"light dark\">\n"
         "<link rel=\"icon\" href=\"/board.svg\" type=\"image/svg+xml\">\n"
         "<link rel=\"stylesheet\" href=\"/board.css\">\n</head>\n<body class=\"plain\">\n<main>\n"
         "<p class=\"nameplate\">Watcher <b>"
      << view.watcher << "</b></p>\n<h1>Enter</h1>\n";
  if (!view.complaint.empty()) {
    out << "<p class=\"complaint\" role=\"alert\">" << view.complaint << "</p>\n";
  }
  if (!view.password_set) {
    out << "<p>No password is set yet. On the watcher's machine: <code>ebbwatch board-password "
           "host</code></p>\n";
  }
  out << "<form class=\"enter\" method=\"post\" action=\"/login\">"
         "<input type=\"hidden\" name=\"form_token\" value=\""
      << view.form_token << "\"><input type=\"hidden\" name=\"next\" value=\"" << view.next
      << "\"><label>Your name <input name=\"person\" required maxlength=\"80\" "
         "autocomplete=\"name\" value=\""
      << view.person
      << "\"></label>"
         "<label>As <select name=\"role\">";
  for (const Role role : {Role::viewer, Role::keyholder, Role::host}) {
    out << "<option";
    if (view.role == word(role)) out << " selected";
    out << ">" << std::string(word(role)) << "</option>";
  }
  out << "</select></label><label>Password <input type=\"password\" name=\"password\" required "
         "autocomplete=\"current-password\"></label><button>Enter</button></form>\n"
         "<p class=\"quiet\">A viewer reads; a keyholder also acknowledges, shelves and "
         "adds notes at the sites whose call list has them; a host does "
         "everything.</p>\n</main>\n</body>\n</html>\n";
  return out.str();
}

}  // namespace ebbwatch
