#include "trace/truth.h"

#include <array>
#include <charconv>
#include <cmath>
#include <limits>
#include <optional>
#include <string_view>

#include "core/decision.h"
#include "trace/input_file.h"

namespace ebbwatch {
namespace {

constexpr std::string_view header = "start_s,end_s,scope,subject,cause";

std::optional<double> number(std::string_view text) {
  double value = 0;
  const auto read = std::from_chars(text.data(), text.data() + text.size(), value);
  const bool fits = read.ec == std::errc{} && read.ptr == text.data() + text.size() &&
                    std::isfinite(value);  // It reads "nan" and "inf" as well.
  return fits ? std::optional(value) : std::nullopt;
}

std::optional<Scope> scope_of(std::string_view name) {
  for (const Scope scope : {Scope::controller, Scope::tank, Scope::site, Scope::area,
                            Scope::provider, Scope::watcher}) {
    if (name == word(scope)) return scope;
  }
  return std::nullopt;
}

std::optional<TruthRow::Kind> kind_of(std::string_view cause, Scope scope) {
  if (cause == "blip") return TruthRow::Kind::blip;
  if (cause == "unknown") return TruthRow::Kind::unknown;
  if (cause == word(Cause::watcher_uplink) || scope == Scope::watcher) {
    return TruthRow::Kind::watcher;
  }
  for (const Cause known :
       {Cause::mains_power, Cause::internet, Cause::controller, Cause::undetermined}) {
    if (cause == word(known)) return TruthRow::Kind::outage;
  }
  return std::nullopt;
}

// @return what is wrong; empty when nothing is.
std::string read_row(const std::array<std::string_view, 5>& fields, TruthRow& row) {
  const auto start = number(fields[0]);
  if (!start) return "column start_s: \"" + std::string(fields[0]) + "\" is not a number";
  const auto end = fields[1].empty() ? std::numeric_limits<double>::infinity() : number(fields[1]);
  if (!end) return "column end_s: \"" + std::string(fields[1]) + "\" is not a number";
  if (*end < *start) return "column end_s: before start_s";
  const auto scope = scope_of(fields[2]);
  if (!scope) {
    return "column scope: \"" + std::string(fields[2]) +
           "\" is not controller, tank, site, area, provider or watcher";
  }
  const auto kind = kind_of(fields[4], *scope);
  if (!kind) {
    return "column cause: \"" + std::string(fields[4]) +
           "\" is not a cause of decisions, blip or unknown";
  }
  row = {*start, *end, *scope, std::string(fields[3]), std::string(fields[4]), *kind};
  return "";
}

// @return false when there are not exactly as many columns as fields.
bool split(std::string_view line, std::array<std::string_view, 5>& fields) {
  for (std::size_t i = 0; i < fields.size(); ++i) {
    const auto comma = line.find(',');
    const bool is_last = i + 1 == fields.size();
    if ((comma == line.npos) != is_last) return false;
    fields[i] = line.substr(0, comma);
    if (!is_last) line.remove_prefix(comma + 1);
  }
  return true;
}

}  // namespace

Result<std::vector<TruthRow>> read_truth(const std::string& path) {
  auto file = InputFile::open(path);
  if (!file) return file.error();
  const auto fault = [&](const std::string& what) {
    const std::string line = std::to_string(file.value().line_number());
    return Error{Errc::bad_input, path + ":" + line + ": " + what};
  };
  std::string_view line;
  auto got = file.value().next_line(line);
  if (!got) return fault(got.error().text);
  if (!got.value() || line != header) {
    return fault("the first line must be \"" + std::string(header) + "\"");
  }
  std::vector<TruthRow> rows;
  while (true) {
    got = file.value().next_line(line);
    if (!got) return fault(got.error().text);
    if (!got.value()) return rows;
    std::array<std::string_view, 5> fields;
    if (!split(line, fields)) return fault("not 5 columns");
    TruthRow row;
    if (const std::string what = read_row(fields, row); !what.empty()) return fault(what);
    rows.push_back(std::move(row));
  }
}

}  // namespace ebbwatch
