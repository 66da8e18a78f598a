#include "cli/recorded_history.h"

#include <unistd.h>

#include <vector>

#include "advice/recorded_events.h"
#include "store/sqlite_store.h"
#include "trace/trace_events.h"
#include "trace/trace_reader.h"

namespace ebbwatch {

Result<std::unique_ptr<Store>> open_recorded(const std::string& state_dir) {
  const std::string path = database_path(state_dir);
  if (::access(path.c_str(), F_OK) != 0) {
    return Error{Errc::not_found,
                 path +
                     " is not there: the daemon has not recorded anything yet, or this user may "
                     "not look into the folder."};
  }
  StoreOptions beside;
  beside.sole_watcher = false;
  return open_store(state_dir, beside);
}

Result<std::uint64_t> feed_recorded(Store& store, const WatchPlan& plan, const EventSink& sink) {
  advice::RecordedEvents recorded(plan);
  std::uint64_t rows = 0;
  const auto read = store.for_each_heard({}, [&](const HeardRow& row) {
    ++rows;
    sink(recorded.event_of(row));
    return true;
  });
  if (!read) return read.error();
  return rows;
}

Result<std::uint64_t> feed_trace(const std::string& path, const WatchPlan& plan,
                                 const EventSink& sink) {
  auto reader = TraceReader::open(path);
  if (!reader) return reader.error();
  TraceEvents translate(plan);
  TraceRow row;
  std::vector<Event> events;
  std::uint64_t rows = 0;
  while (true) {
    const auto got = reader.value().next(row);
    if (!got) return got.error();
    if (!got.value()) return rows;
    ++rows;
    events.clear();
    translate.add(row, events);
    for (const Event& event : events) sink(event);
  }
}

Result<advice::History> measure_recorded(Store& store, const WatchPlan& plan) {
  advice::Meter meter(plan);
  const auto fed = feed_recorded(store, plan, [&](const Event& event) { meter.on(event); });
  if (!fed) return fed.error();
  return meter.result();
}

Result<advice::History> measure_trace(const std::string& path, const WatchPlan& plan) {
  advice::Meter meter(plan);
  const auto fed = feed_trace(path, plan, [&](const Event& event) { meter.on(event); });
  if (!fed) return fed.error();
  return meter.result();
}

}  // namespace ebbwatch
