#include "core/alarm_state.h"

namespace ebbwatch {

AlarmState next(AlarmState state, AlarmEvent event) {
  switch (state) {
    case AlarmState::normal:
      return event == AlarmEvent::goes_bad ? AlarmState::unacknowledged : state;
    case AlarmState::unacknowledged:
      if (event == AlarmEvent::acknowledge) return AlarmState::acknowledged;
      if (event == AlarmEvent::returns_to_good) return AlarmState::returned_unacknowledged;
      return state;
    case AlarmState::acknowledged:
      if (event == AlarmEvent::returns_to_good) return AlarmState::normal;
      if (event == AlarmEvent::alarm_again) return AlarmState::unacknowledged;
      return state;
    case AlarmState::returned_unacknowledged:
      if (event == AlarmEvent::acknowledge) return AlarmState::normal;
      if (event == AlarmEvent::goes_bad) return AlarmState::unacknowledged;
      return state;
    case AlarmState::shelved:
    case AlarmState::suppressed_by_design:
    case AlarmState::out_of_service:
      return state;
  }
  return state;
}

AlarmState after_shelf(bool still_bad) {
  return still_bad ? AlarmState::unacknowledged : AlarmState::normal;
}

}  // namespace ebbwatch
