// What really happened, beside a trace (FORMATS section 5): the reader of its CSV file.
#pragma once

#include <string>
#include <vector>

#include "core/ids.h"
#include "core/result.h"

namespace ebbwatch {

struct TruthRow {
  enum class Kind : std::uint8_t {
    outage,   ///< Contact was really lost.
    blip,     ///< Too short to be told.
    watcher,  ///< The watcher's own link or process; no tank was lost.
    unknown,  ///< Nobody knows: neither asked for nor held against the watcher.
  };
  double start_s = 0, end_s = 0;  ///< From the beginning of the trace; end_s >= start_s.
  Scope scope = Scope::controller;
  std::string subject, cause;
  Kind kind = Kind::outage;
};

/// Header exactly `start_s,end_s,scope,subject,cause`; rows in any order. An empty end_s is an
/// outage that never ended. Errors: not_found, refused, bad_input ("FILE:LINE: column NAME: …").
Result<std::vector<TruthRow>> read_truth(const std::string& path);

}  // namespace ebbwatch
