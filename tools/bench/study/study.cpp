#include "study/study.h"

#include <algorithm>

#include "core/watch.h"
#include "trace/trace_events.h"
#include "trace/trace_reader.h"

namespace ebbwatch::bench {
namespace {

constexpr std::size_t rows_at_once = 8192;

WatchPlan with(WatchPlan plan, const OwnSetting& setting) {
  const auto apply = [&](auto& items) {
    for (auto& item : items) {
      item.detection.on_delay = setting.on_delay;
      item.detection.min_missed = setting.min_missed;
    }
  };
  apply(plan.controllers);
  apply(plan.tanks);
  apply(plan.sites);
  return plan;
}

// Our own core at one setting.
class OwnRun {
 public:
  OwnRun(WatchPlan plan, OwnPoint point)
      : point_(std::move(point)), watch_(std::move(plan), Instant{0}) {}

  void add(const std::vector<Event>& events) {
    for (const Event& event : events) watch_.on(event, decisions_);
    for (const Decision& decision : decisions_) log_.add(decision);
    decisions_.clear();
  }
  /// Judged by the set's own settings, so that every point has the same outages to tell.
  OwnPoint finish(const TraceSet& set, double length_s) {
    point_.summary = summarize(set.plan, log_, &set.truth, length_s);
    point_.false_by_controller.resize(set.plan.controllers.size());
    for (const ToldOutage& told : point_.summary.false_ones) {
      for (const std::uint32_t c : controllers_of(set.plan, told.subject)) {
        ++point_.false_by_controller[c];
      }
    }
    return std::move(point_);
  }

 private:
  OwnPoint point_;
  Watch watch_;
  DecisionLog log_;
  std::vector<Decision> decisions_;
};

std::vector<OwnRun> own_runs(const TraceSet& set, const std::vector<OwnSetting>& settings) {
  std::vector<OwnRun> runs;
  const Detection& first = set.plan.controllers.front().detection;
  runs.emplace_back(set.plan, OwnPoint{{first.on_delay, first.min_missed}, true, {}, {}});
  for (const OwnSetting& setting : settings) {
    runs.emplace_back(with(set.plan, setting), OwnPoint{setting, false, {}, {}});
  }
  return runs;
}

struct ReferenceRun {
  ReferencePoint point;
  DetectorRun run;
};

std::vector<ReferenceRun> reference_runs(const TraceSet& set, const TruthTable& truth,
                                         const std::vector<Setting>& settings) {
  std::vector<ReferenceRun> runs;
  for (const Setting& setting : settings) {
    for (const bool holds : {false, true}) {
      runs.push_back({{setting.family, setting.parameter, holds, {}},
                      DetectorRun(set.plan, truth, setting, holds)});
    }
  }
  return runs;
}

// Reads the next part of the trace. @return false at its end.
Result<bool> read_part(TraceReader& reader, TraceEvents& translate, Observations& observe,
                       std::vector<Event>& events, std::vector<Observation>& observations,
                       double& last_s, std::uint64_t& rows) {
  events.clear();
  observations.clear();
  TraceRow row;
  for (std::size_t i = 0; i < rows_at_once; ++i) {
    const auto got = reader.next(row);
    if (!got) return got.error();
    if (!got.value()) return false;
    ++rows;
    last_s = row.at.seconds();
    translate.add(row, events);
    observe.add(row, observations);
  }
  return true;
}

}  // namespace

std::vector<OwnSetting> own_settings() {
  std::vector<OwnSetting> all;
  // Below 3 min the user who wants to know so soon asks for fewer missed ones as well.
  for (const int s : {30, 60, 90}) all.push_back({Span::of_s(s), 1});
  for (const int s : {120, 150}) all.push_back({Span::of_s(s), 2});
  for (const int min : {3, 4, 5, 6, 7, 8, 10, 12, 13, 14, 15, 20}) {
    all.push_back({Span::of_min(min), 3});
  }
  return all;
}

Result<Study> run_study(const TraceSet& set, const std::vector<Setting>& settings,
                        const std::vector<OwnSetting>& own) {
  auto reader = TraceReader::open(set.trace_path());
  if (!reader) return reader.error();
  const TruthTable truth(set.plan, set.truth);
  auto references = reference_runs(set, truth, settings);
  auto ours = own_runs(set, own);
  TraceEvents translate(set.plan);
  Observations observe(set.plan);
  std::vector<Event> events;
  std::vector<Observation> observations;
  Study study;
  double last_s = 0;
  for (bool more = true; more;) {
    const auto got =
        read_part(reader.value(), translate, observe, events, observations, last_s, study.rows);
    if (!got) return got.error();
    more = got.value();
    for (ReferenceRun& reference : references) reference.run.add(observations);
    for (OwnRun& run : ours) run.add(events);
  }
  for (ReferenceRun& reference : references) {
    reference.point.figures = reference.run.finish(last_s);
    study.references.push_back(std::move(reference.point));
  }
  for (OwnRun& run : ours) study.own.push_back(run.finish(set, last_s));
  study.name = set.name;
  study.tank_years = study.own.front().summary.tank_years;
  study.blips = study.own.front().summary.blips;
  for (const ControllerPlan& controller : set.plan.controllers) {
    study.controllers.push_back(controller.id);
  }
  return study;
}

}  // namespace ebbwatch::bench
