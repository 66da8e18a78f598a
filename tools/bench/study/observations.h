// What a textbook detector gets to know from a trace: fresh check-ins and the state of the
// watcher's own link. Stale copies and buffered check-ins are left out for every detector alike,
// and a restart of a controller is told to it, so that what is compared is deciding and not
// parsing.
#pragma once

#include <cstdint>
#include <string>
#include <unordered_map>
#include <vector>

#include "core/freshness.h"
#include "core/site_plan.h"
#include "detectors/detector.h"
#include "trace/trace_reader.h"

namespace ebbwatch::bench {

struct Observation {
  enum class Kind : std::uint8_t {
    heard,      ///< `controller` and `heard`.
    link_up,    ///< The own link works (a check of it answered).
    link_down,  ///< It does not.
    started,    ///< The watcher's process began to listen.
  };
  double at_s = 0;
  Kind kind = Kind::heard;
  std::uint32_t controller = 0;
  Heard heard;
};

class Observations {
 public:
  /// @param plan read now and not kept.
  explicit Observations(const WatchPlan& plan);
  /// Appends what the row tells; nothing for rows of other watchers.
  void add(const TraceRow& row, std::vector<Observation>& out);

 private:
  void add_check_in(const TraceRow& row, std::uint32_t controller, std::vector<Observation>& out);

  std::string watcher_;
  std::unordered_map<std::string, std::uint32_t> controllers_;
  std::unordered_map<std::string, bool> answered_;  // by reference
  std::uint32_t uplink_quorum_;
  std::vector<Newest> newest_;
  std::vector<Span> intervals_;
};

}  // namespace ebbwatch::bench
