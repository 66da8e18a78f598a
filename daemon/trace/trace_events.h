// Turns rows of a trace into events of the core, as one chosen watcher and its witnesses saw them.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "core/event.h"
#include "core/freshness.h"
#include "core/site_plan.h"
#include "trace/trace_reader.h"
#include "trace/witness_presence.h"

namespace ebbwatch {

class TraceEvents {
 public:
  /// `plan.watcher` is the watcher that is replayed, `plan.witnesses` are the other ones; rows of
  /// further watchers are passed over. @param plan is read now and not kept.
  explicit TraceEvents(const WatchPlan& plan);

  /// Appends the events of a row, in time order. What they say of a moment depends on rows up to
  /// that moment only, so the events of a part of a trace are the first part of the events of the
  /// whole.
  void add(const TraceRow& row, std::vector<Event>& events);
  /// Rows of controllers, references or watchers that the plan does not know. Of the own ones
  /// remains that the watcher was running.
  std::uint64_t passed_over() const { return passed_over_; }

 private:
  struct TextHash {
    using is_transparent = void;
    std::size_t operator()(std::string_view text) const {
      return std::hash<std::string_view>{}(text);
    }
  };
  using Positions = std::unordered_map<std::string, std::uint32_t, TextHash, std::equal_to<>>;
  struct Witness {
    WitnessPresence presence;
    bool told_reachable = false;  ///< What the events have said so far.
    std::vector<Newest> newest;   ///< By controller.
  };

  void add_own(const TraceRow& row, std::vector<Event>& events);
  void add_witness(const TraceRow& row, std::uint32_t index, std::vector<Event>& events);
  void add_hearing(const TraceRow& row, std::uint32_t index, std::vector<Event>& events);
  void tell_presence(Instant at, std::uint32_t index, std::vector<Event>& events);
  void end_silent_witnesses(Instant now, std::vector<Event>& events);

  std::string watcher_;
  Positions controllers_, references_, witness_positions_;
  std::vector<Span> intervals_;
  std::vector<Witness> witnesses_;
  std::uint64_t passed_over_ = 0;
};

}  // namespace ebbwatch
