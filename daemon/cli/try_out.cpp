#include "cli/try_out.h"

#include <boost/json/array.hpp>
#include <boost/json/serialize.hpp>
#include <cstdio>
#include <optional>

#include "advice/wishes.h"
#include "cli/recorded_history.h"
#include "cli/replay_run.h"
#include "cli/what_if.h"
#include "core/watch.h"
#include "core/wording.h"
#include "settings/load.h"
#include "settings/plan.h"
#include "text/rfc3339.h"
#include "trace/trace_reader.h"

namespace ebbwatch {
namespace {

using Feed = std::function<Result<std::uint64_t>(const WatchPlan&, const EventSink&)>;

/// Runs the core over a history. Nothing is decided after its last event.
Result<DecisionLog> decide(const WatchPlan& plan, const Feed& feed) {
  DecisionLog log;
  std::optional<Watch> watch;
  std::vector<Decision> decisions;
  const auto fed = feed(plan, [&](const Event& event) {
    if (!watch) watch.emplace(plan, event.at);
    watch->on(event, decisions);
    for (const Decision& decision : decisions) log.add(decision);
    decisions.clear();
  });
  if (!fed) return fed.error();
  return log;
}

/// Wishes come to delays by the same history that is replayed.
Result<WatchPlan> plan_of(const Settings& settings, const Feed& feed,
                          const std::function<WatchPlan(WatchPlan)>& adapt) {
  if (!advice::has_wishes(settings)) return adapt(make_plan(settings));
  const WatchPlan plan = adapt(make_plan(settings));
  advice::Meter meter(plan);
  const auto fed = feed(plan, [&](const Event& event) { meter.on(event); });
  if (!fed) return fed.error();
  return adapt(
      make_plan(advice::with_choices(settings, advice::choices(settings, meter.result()))));
}

void print(const TryOut& options, const std::vector<ComparedLoss>& losses, bool is_trace) {
  const auto stamp = [&](Instant at) {
    return is_trace ? std::to_string(at.us / 1'000'000) + " s" : to_rfc3339(WallTime{at.us});
  };
  if (options.json) {
    boost::json::object out = comparison_json(losses, stamp);
    out["set"] = boost::json::array(options.assignments.begin(), options.assignments.end());
    std::printf("%s\n", boost::json::serialize(out).c_str());
    return;
  }
  for (const std::string& assignment : options.assignments)
    std::printf("With %s\n", assignment.c_str());
  const auto short_stamp = [&](Instant at) {
    std::string text = is_trace ? span_text(Span{at.us}) : stamp(at).substr(0, 16);
    if (!is_trace && text.size() > 10) text[10] = ' ';
    return text;
  };
  if (!is_trace) std::printf("Times are UTC. ");
  std::fputs(comparison_text(losses, short_stamp).c_str(), stdout);
}

void try_on_recorded(Context& context, const TryOut& options, const Settings& settings) {
  const auto store = open_recorded(settings.watcher.state_dir);
  if (!store) return complain(context, store.error().text);
  const Feed feed = [&](const WatchPlan& plan, const EventSink& sink) {
    return feed_recorded(*store.value(), plan, sink);
  };
  const auto plan = plan_of(settings, feed, [](WatchPlan same) { return same; });
  if (!plan) return complain(context, plan.error().text);
  const auto rows = store.value()->decisions({});
  if (!rows) return complain(context, rows.error().text);
  const auto then = told_losses(rows.value(), plan.value());
  if (!then) return complain(context, then.error().text);
  const auto log = decide(plan.value(), feed);
  if (!log) return complain(context, log.error().text);
  print(options, compare(then.value(), told_losses(log.value(), plan.value())), false);
}

void try_on_trace(Context& context, const TryOut& options, const Settings& present,
                  const Settings& other) {
  const auto watchers = watchers_of_trace(options.trace);
  if (!watchers) return complain(context, watchers.error().text);
  const std::string watcher = options.watcher.empty() ? present.watcher.name : options.watcher;
  const auto adapt = [&](WatchPlan plan) {
    return plan_for_replay(std::move(plan), watcher, watchers.value());
  };
  const Feed feed = [&](const WatchPlan& plan, const EventSink& sink) {
    return feed_trace(options.trace, plan, sink);
  };
  std::vector<std::vector<ToldLoss>> told;
  for (const Settings* settings : {&present, &other}) {
    const auto plan = plan_of(*settings, feed, adapt);
    if (!plan) return complain(context, plan.error().text);
    const auto log = decide(plan.value(), feed);
    if (!log) return complain(context, log.error().text);
    told.push_back(told_losses(log.value(), plan.value()));
  }
  print(options, compare(told[0], told[1]), true);
}

}  // namespace

void try_out(Context& context, const TryOut& options) {
  Settings present;
  if (!load_or_complain(context, present)) return;
  const Loaded other = load_settings_with(context.configuration, options.assignments);
  if (!other.problems.empty()) {
    for (const Problem& problem : other.problems)
      std::fprintf(stderr, "%s\n", text(problem).c_str());
    context.exit_status = exit_usage;
    return;
  }
  if (options.trace.empty()) return try_on_recorded(context, options, other.settings);
  try_on_trace(context, options, present, other.settings);
}

}  // namespace ebbwatch
