// What every textbook failure detector is to the bench: told of each arrival, it names the moment
// at which it will begin to suspect if nothing more comes.
#pragma once

#include <cstdint>

namespace ebbwatch::bench {

/// One fresh check-in. Times in seconds from the beginning of the trace.
struct Heard {
  double at_s = 0;
  /// Check-ins sent since the one heard before, by its sequence number; where there is none, by the
  /// length of the gap. At least 1.
  std::int64_t sent = 1;
  /// The first one, or the first since the controller restarted: its phase and its numbers are new.
  bool anew = false;
  /// The gap says nothing about the sender: the detector suspected it, or the watcher's own link
  /// was down in it.
  bool gap_is_odd = false;
};

/// Watches one controller. Not copied; owned by the run that feeds it.
class Detector {
 public:
  virtual ~Detector() = default;
  virtual void heard(const Heard& heard) = 0;
  /// @pre something was heard.
  virtual double suspect_at_s() const = 0;
};

}  // namespace ebbwatch::bench
