#include "app/detection_wishes.h"

#include "advice/recorded_events.h"
#include "reporting/log.h"
#include "settings/plan.h"

namespace ebbwatch {

Result<void> DetectionWishes::measure(Store& store, const Settings& settings) {
  if (!advice::has_wishes(settings)) return {};
  const WatchPlan plan = make_plan(settings);
  advice::RecordedEvents recorded(plan);
  advice::Meter meter(plan);
  const auto read = store.for_each_heard({}, [&](const HeardRow& row) {
    meter.on(recorded.event_of(row));
    return true;
  });
  if (read) history_ = meter.result();
  return read;
}

Settings DetectionWishes::settle(Settings settings) {
  const auto choices = advice::choices(settings, history_);
  unmet_.clear();
  for (const advice::Choice& choice : choices) {
    const std::string text = advice::sentence(choice);
    if (advice::can_be_had(choice)) {
      say(Level::info, "wish", text);
    } else {
      say(Level::warning, "wish_not_to_be_had", text);
      unmet_.push_back(text);
    }
  }
  return advice::with_choices(std::move(settings), choices);
}

}  // namespace ebbwatch
