// Reads a trace: what a watcher heard, one row at a time (FORMATS section 4).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/event.h"
#include "core/result.h"
#include "core/time.h"
#include "trace/input_file.h"

namespace ebbwatch {

enum class TraceKind : std::uint8_t { check_in, buffered, uplink, start, stop };

struct TraceRow {
  Instant at;  ///< From the beginning of the trace.
  TraceKind kind = TraceKind::check_in;
  std::string_view watcher, subject;  ///< Valid until the next row is read.
  bool answered = false;              ///< Of an uplink row.
  std::optional<std::uint64_t> seq;
  std::optional<double> uptime_s;
  Power power = Power::unknown;
};

class TraceReader {
 public:
  /// Opens and checks the header. Errors: not_found, refused, bad_input.
  static Result<TraceReader> open(const std::string& path);

  /// @return false at the end. Errors: bad_input, "FILE:LINE: column NAME: …"; a row that is
  /// earlier than the one before it is an error too.
  Result<bool> next(TraceRow& row);
  double progress() const { return file_.progress(); }

 private:
  TraceReader(std::string path, InputFile file) : path_(std::move(path)), file_(std::move(file)) {}
  Error fault(const std::string& what) const;

  std::string path_;
  InputFile file_;
  Instant last_;
};

/// The names in the `watcher` column in order of their first row. Reads the whole file.
Result<std::vector<std::string>> watchers_of_trace(const std::string& path);

}  // namespace ebbwatch
