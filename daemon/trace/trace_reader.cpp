#include "trace/trace_reader.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

namespace ebbwatch {
namespace {

constexpr std::string_view header = "time_s,watcher,kind,subject,ok,seq,uptime_s,power";
constexpr std::size_t columns = 8;
constexpr double time_s_max = 1e11;  // 3,000 years; still exact in microseconds.

using Fields = std::array<std::string_view, columns>;

// @return how many columns there are; the first 8 are filled in.
std::size_t split(std::string_view line, Fields& fields) {
  std::size_t count = 0;
  const char* start = line.data();
  const char* const end = start + line.size();
  for (const char* at = start; at != end; ++at) {
    if (*at != ',') continue;
    if (count < columns) fields[count] = {start, static_cast<std::size_t>(at - start)};
    ++count;
    start = at + 1;
  }
  if (count < columns) fields[count] = {start, static_cast<std::size_t>(end - start)};
  return count + 1;
}

template <class Number>
bool read_number(std::string_view text, Number& out) {
  const char* end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, out);
  return read.ec == std::errc{} && read.ptr == end;
}

std::optional<TraceKind> kind_of(std::string_view word) {
  if (word == "check-in") return TraceKind::check_in;
  if (word == "uplink") return TraceKind::uplink;
  if (word == "buffered") return TraceKind::buffered;
  if (word == "start") return TraceKind::start;
  if (word == "stop") return TraceKind::stop;
  return std::nullopt;
}

std::string wrong(const char* column, std::string_view found, const char* allowed) {
  constexpr std::size_t shown_max = 60;
  return std::string("column ") + column + ": \"" + std::string(found.substr(0, shown_max)) +
         "\" is not " + allowed;
}

// Each reads one column and returns what is wrong with it; an empty text when nothing is.

std::string read_time(std::string_view text, Instant& at) {
  double time_s = 0;
  const bool fits = read_number(text, time_s) && time_s >= 0 && time_s <= time_s_max;
  if (!fits) return wrong("time_s", text, "a number of seconds from 0");
  at = Instant::of_seconds(time_s);
  return "";
}

std::string read_check_in(const Fields& fields, TraceRow& row) {
  row.seq.reset();
  row.uptime_s.reset();
  if (!fields[5].empty()) {
    std::uint64_t seq = 0;
    if (!read_number(fields[5], seq)) return wrong("seq", fields[5], "a whole number from 0");
    row.seq = seq;
  }
  if (!fields[6].empty()) {
    double uptime_s = 0;
    const bool fits = read_number(fields[6], uptime_s) && uptime_s >= 0 && uptime_s <= time_s_max;
    if (!fits) return wrong("uptime_s", fields[6], "a number of seconds from 0");
    row.uptime_s = uptime_s;
  }
  row.power = Power::unknown;
  if (fields[7] == "mains")
    row.power = Power::mains;
  else if (fields[7] == "battery")
    row.power = Power::battery;
  else if (!fields[7].empty())
    return wrong("power", fields[7], "mains, battery or empty");
  return "";
}

std::string read_row(const Fields& fields, TraceRow& row) {
  if (std::string fault = read_time(fields[0], row.at); !fault.empty()) return fault;
  row.watcher = fields[1];
  if (row.watcher.empty()) return "column watcher: is empty";
  const auto kind = kind_of(fields[2]);
  if (!kind) return wrong("kind", fields[2], "check-in, buffered, uplink, start or stop");
  row.kind = *kind;
  row.subject = fields[3];
  if (*kind == TraceKind::start || *kind == TraceKind::stop) return "";
  if (row.subject.empty()) return "column subject: is empty";
  if (*kind != TraceKind::uplink) return read_check_in(fields, row);
  row.answered = fields[4] == "1";
  return row.answered || fields[4] == "0" ? "" : wrong("ok", fields[4], "1 or 0");
}

}  // namespace

Error TraceReader::fault(const std::string& what) const {
  return {Errc::bad_input, path_ + ":" + std::to_string(file_.line_number()) + ": " + what};
}

Result<TraceReader> TraceReader::open(const std::string& path) {
  auto file = InputFile::open(path);
  if (!file) return file.error();
  TraceReader reader(path, std::move(file.value()));
  std::string_view line;
  const auto got = reader.file_.next_line(line);
  if (!got) return reader.fault(got.error().text);
  if (!got.value())
    return Error{Errc::bad_input, path + ": the file is empty; the first line must be \"" +
                                      std::string(header) + "\""};
  if (line != header) {
    return reader.fault("the header is \"" + std::string(line.substr(0, 100)) +
                        "\", but must be \"" + std::string(header) + "\"");
  }
  return reader;
}

Result<bool> TraceReader::next(TraceRow& row) {
  std::string_view line;
  const auto got = file_.next_line(line);
  if (!got) {
    return Error{got.error().code,
                 path_ + ":" + std::to_string(file_.line_number() + 1) + ": " + got.error().text};
  }
  if (!got.value()) return false;
  Fields fields;
  const std::size_t count = split(line, fields);
  if (count != columns) {
    return fault(std::to_string(count) + " columns instead of " + std::to_string(columns));
  }
  if (const std::string what = read_row(fields, row); !what.empty()) return fault(what);
  if (row.at < last_) return fault("column time_s: earlier than the row before it");
  last_ = row.at;
  return true;
}

Result<std::vector<std::string>> watchers_of_trace(const std::string& path) {
  auto reader = InputFile::open(path);
  if (!reader) return reader.error();
  std::vector<std::string> names;
  std::string_view line;
  auto got = reader.value().next_line(line);  // The header.
  while (got.ok() && got.value()) {
    got = reader.value().next_line(line);
    if (!got.ok() || !got.value()) break;
    const auto first = line.find(',');
    if (first == line.npos) continue;  // TraceReader will say what is wrong.
    const std::string_view name = line.substr(first + 1, line.find(',', first + 1) - first - 1);
    if (!names.empty() && names.front() == name) continue;
    if (std::find(names.begin(), names.end(), name) == names.end()) names.emplace_back(name);
  }
  return names;
}

}  // namespace ebbwatch
