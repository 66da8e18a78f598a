#include "cli/replay_run.h"

#include <array>
#include <cstdio>

#include "core/watch.h"
#include "core/wording.h"
#include "trace/trace_events.h"
#include "trace/trace_reader.h"

namespace ebbwatch {
namespace {

constexpr std::uint64_t rows_between_progress = 16'384;

// Seconds without rounding: decisions carry microseconds.
std::string seconds_json(Instant at) {
  std::array<char, 48> text{};
  std::snprintf(text.data(), text.size(), "%lld.%06lld", static_cast<long long>(at.us / 1'000'000),
                static_cast<long long>(at.us % 1'000'000));
  std::string digits = text.data();
  while (digits.ends_with('0')) digits.pop_back();
  if (digits.ends_with('.')) digits.pop_back();
  return digits;
}

// Silence may be believed to have begun before the trace did.
std::string signed_seconds_json(Instant at) {
  return at.us < 0 ? "-" + seconds_json(Instant{-at.us}) : seconds_json(at);
}

std::string replay_json(const Decision& decision, const WatchPlan& plan) {
  const TimeText time_text = [](Instant at) { return span_text(Span{at.us}); };
  const DecisionTimes times{"time_s", signed_seconds_json(decision.at),
                            signed_seconds_json(decision.since)};
  return decision_json(decision, plan, time_text, times);
}

}  // namespace

WatchPlan plan_for_replay(WatchPlan plan, const std::string& watcher,
                          const std::vector<std::string>& watchers_in_trace) {
  plan.watcher = watcher;
  plan.witnesses.clear();
  for (const std::string& name : watchers_in_trace) {
    if (name != watcher) plan.witnesses.push_back(name);
  }
  // Without references a trace has no uplink rows, so their absence says nothing.
  plan.judges_own_presence = !plan.uplink_references.empty();
  return plan;
}

Result<ReplayRun> run_replay(const WatchPlan& plan, const std::string& trace_path,
                             const DecisionSink& sink, const ReplayProgress& progress) {
  auto reader = TraceReader::open(trace_path);
  if (!reader) return reader.error();
  ReplayRun run;
  Watch watch(plan, Instant{0});
  TraceEvents translate(plan);
  TraceRow row;
  std::vector<Event> events;
  std::vector<Decision> decisions;
  while (true) {
    const auto got = reader.value().next(row);
    if (!got) return got.error();
    if (!got.value()) break;
    ++run.rows;
    run.length_s = row.at.seconds();
    events.clear();
    translate.add(row, events);
    for (const Event& event : events) watch.on(event, decisions);
    for (const Decision& decision : decisions) {
      run.log.add(decision);
      if (!sink(replay_json(decision, plan))) return Error{Errc::cancelled, "stopped"};
    }
    decisions.clear();
    if (run.rows % rows_between_progress == 0) progress(reader.value().progress());
  }
  run.passed_over = translate.passed_over();
  return run;
}

}  // namespace ebbwatch
