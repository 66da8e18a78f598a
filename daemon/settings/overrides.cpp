// How the levels of detection settings are put over each other.
#include "settings/settings.h"

namespace ebbwatch {
namespace {

template <class Value>
void put(Value& target, const std::optional<Value>& given) {
  if (given) target = *given;
}

}  // namespace

Detection apply(Detection base, const DetectionOverrides& overrides) {
  put(base.on_delay, overrides.on_delay);
  put(base.off_delay, overrides.off_delay);
  put(base.min_missed, overrides.min_missed);
  put(base.quorum, overrides.quorum);
  put(base.site_quorum, overrides.site_quorum);
  put(base.witness_quorum, overrides.witness_quorum);
  put(base.steadiness.half_life, overrides.half_life);
  put(base.steadiness.penalty, overrides.penalty);
  put(base.steadiness.suppress, overrides.suppress);
  put(base.steadiness.reuse, overrides.reuse);
  put(base.steadiness.longest, overrides.longest);
  put(base.mains_report.enabled, overrides.mains_enabled);
  put(base.mains_report.quorum, overrides.mains_quorum);
  put(base.mains_report.at_least, overrides.mains_at_least);
  put(base.mains_report.at_most, overrides.mains_at_most);
  return base;
}

DetectionWish apply(DetectionWish above, const DetectionOverrides& overrides) {
  if (overrides.has_delays()) above = {};
  if (overrides.tell_within) above.tell_within = overrides.tell_within;
  if (overrides.false_alarms_at_most) above.false_alarms_at_most = overrides.false_alarms_at_most;
  return above;
}

}  // namespace ebbwatch
