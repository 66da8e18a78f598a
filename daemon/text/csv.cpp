#include "text/csv.h"

namespace ebbwatch {

std::string csv_text(std::string_view text) {
  constexpr std::string_view runs = "=+-@\t\r\n";
  std::string out;
  if (!text.empty() && runs.find(text.front()) != std::string_view::npos) out = "'";
  out += text;
  if (out.find_first_of(",\"\r\n") == std::string::npos) return out;
  std::string quoted = "\"";
  for (const char c : out) quoted += c == '"' ? std::string("\"\"") : std::string(1, c);
  return quoted + "\"";
}

std::string csv_row(const std::vector<std::string>& fields) {
  std::string row;
  for (std::size_t i = 0; i < fields.size(); ++i) row += (i == 0 ? "" : ",") + fields[i];
  return row + "\r\n";
}

}  // namespace ebbwatch
