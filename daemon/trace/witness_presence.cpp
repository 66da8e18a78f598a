#include "trace/witness_presence.h"

#include <algorithm>

namespace ebbwatch {

WitnessPresence::WitnessPresence(std::uint32_t uplink_quorum, Span silence)
    : uplink_quorum_(uplink_quorum), silence_(silence) {}

void WitnessPresence::begin_running() {
  if (running_) return;
  // What its references answered before the gap says nothing about now.
  running_ = true;
  link_works_ = true;
  references_.clear();
}

void WitnessPresence::on_start(Instant at) {
  running_ = false;
  begin_running();
  last_sign_ = at;
}

void WitnessPresence::on_stop() {
  running_ = false;
}

void WitnessPresence::on_heard(Instant at) {
  // One that writes uplink rows counts by those: otherwise it would come and go between two of
  // them.
  if (writes_uplink_rows_) return;
  begin_running();
  last_sign_ = at;
}

void WitnessPresence::on_uplink(Instant at, std::string_view reference, bool answered) {
  begin_running();
  writes_uplink_rows_ = true;
  last_sign_ = at;
  const auto known = std::find_if(references_.begin(), references_.end(),
                                  [&](const Reference& r) { return r.name == reference; });
  if (known == references_.end())
    references_.push_back({std::string(reference), answered});
  else
    known->answered = answered;
  const auto working = std::count_if(references_.begin(), references_.end(),
                                     [](const Reference& r) { return r.answered; });
  const auto needed =
      std::min<std::size_t>(std::max<std::uint32_t>(uplink_quorum_, 1), references_.size());
  link_works_ = static_cast<std::size_t>(working) >= needed;
}

Instant WitnessPresence::gone_at() const {
  return running_ && writes_uplink_rows_ ? last_sign_ + silence_ : Instant::never();
}

}  // namespace ebbwatch
