#include "core/delay_timer.h"

namespace ebbwatch {

DelayTimer::Change DelayTimer::sample(Instant at, bool bad) {
  if (bad == raised_) {
    running_ = false;
    return Change::none;
  }
  if (!running_) {
    running_ = true;
    since_ = at;
  }
  if (at - since_ < (bad ? on_ : off_)) return Change::none;
  raised_ = bad;
  running_ = false;
  return raised_ ? Change::raised : Change::cleared;
}

}  // namespace ebbwatch
