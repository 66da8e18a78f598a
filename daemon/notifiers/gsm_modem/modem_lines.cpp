#include "notifiers/gsm_modem/modem_lines.h"

#include <charconv>

namespace ebbwatch {
namespace {

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  return text;
}

ModemLine understood(std::string_view line) {
  using Kind = ModemLine::Kind;
  const auto numbered = [&](Kind kind, std::string_view prefix) {
    const auto number = modem_number(trimmed(line.substr(prefix.size())));
    return ModemLine{kind, number.value_or(-1), std::string(line)};
  };
  if (line == "OK") return {Kind::ok, 0, "OK"};
  if (line == "ERROR" || line == "NO CARRIER" || line == "COMMAND NOT SUPPORT") {
    return {Kind::error, -1, std::string(line)};
  }
  if (line.starts_with("+CMS ERROR:")) return numbered(Kind::cms_error, "+CMS ERROR:");
  if (line.starts_with("+CME ERROR:")) return numbered(Kind::cme_error, "+CME ERROR:");
  return {Kind::other, 0, std::string(line)};
}

}  // namespace

std::vector<ModemLine> ModemLines::add(std::string_view bytes) {
  std::vector<ModemLine> lines;
  for (const char c : bytes) {
    if (c != '\r' && c != '\n') {
      if (c == '\0') continue;  // Line noise when the device is switched on.
      too_long_ = too_long_ || begun_.size() >= modem_line_bytes_max;
      if (!too_long_) begun_ += c;
      if (begun_ == ">") {
        lines.push_back({ModemLine::Kind::prompt, 0, ">"});
        begun_.clear();
      }
      continue;
    }
    const auto line = trimmed(begun_);
    if (!line.empty() && !too_long_) lines.push_back(understood(line));
    begun_.clear();
    too_long_ = false;
  }
  return lines;
}

std::vector<std::string> modem_fields(std::string_view line, std::string_view prefix) {
  if (!line.starts_with(prefix)) return {};
  std::vector<std::string> fields(1);
  bool quoted = false;
  for (const char c : trimmed(line.substr(prefix.size()))) {
    if (c == '"') {
      quoted = !quoted;
    } else if (c == ',' && !quoted) {
      fields.emplace_back();
    } else {
      fields.back() += c;
    }
  }
  for (auto& field : fields) field = trimmed(field);
  return fields;
}

std::optional<int> modem_number(std::string_view text) {
  int value = 0;
  const auto* end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, value);
  if (text.empty() || read.ec != std::errc() || read.ptr != end || value < 0) return std::nullopt;
  return value;
}

}  // namespace ebbwatch
