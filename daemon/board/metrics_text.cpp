#include "board/metrics_text.h"

#include <cstdio>

namespace ebbwatch {
namespace {

std::string escaped_text(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (c == '\n') {
      out += "\\n";
      continue;
    }
    if (c == '\\' || c == '"') out += '\\';
    out += c;
  }
  return out;
}

std::string number(double value) {
  char text[40];
  std::snprintf(text, sizeof text, "%.15g", value);
  return text;
}

void add_point(std::string& out, const std::string& name, const MetricPoint& point) {
  out += name;
  const char* before = "{";
  for (const auto& [label, value] : point.labels) {
    out += before + label + "=\"" + escaped_text(value) + "\"";
    before = ",";
  }
  if (!point.labels.empty()) out += "}";
  out += " " + number(point.value) + "\n";
}

}  // namespace

std::string metrics_text(const std::vector<MetricFamily>& families) {
  std::string out;
  for (const auto& family : families) {
    out += "# TYPE " + family.name + " gauge\n";
    if (!family.unit.empty()) out += "# UNIT " + family.name + " " + family.unit + "\n";
    out += "# HELP " + family.name + " " + escaped_text(family.help) + "\n";
    for (const auto& point : family.points) add_point(out, family.name, point);
  }
  return out + "# EOF\n";
}

}  // namespace ebbwatch
