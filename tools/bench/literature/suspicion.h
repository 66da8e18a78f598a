// Formulas of group membership and link monitoring that our rules are compared with. Each one names
// its source; none is used by the daemon.
#pragma once

#include <algorithm>

namespace ebbwatch::bench {

/// SWIM (Das, Gupta, Motivala, DSN 2002): periods until some member first probes a failed one, when
/// a share `live` of the members lives. @pre 0 < live <= 1.
double mean_periods_to_detection(double live);

/// Lifeguard (Dadgar, Phillips, Currey, DSN 2018, section IV): how long a suspicion waits after so
/// many independent confirmations; `wanted` of them bring it to the minimum. Any unit of time.
struct SuspicionRules {
  double shortest = 0, longest = 0;
  int wanted = 3;
};
double suspicion_timeout(const SuspicionRules& rules, int confirmations);

/// Lifeguard's local health: a watcher that finds itself slow waits longer.
class LocalHealth {
 public:
  static constexpr int levels = 8;
  /// +1 for a failed probe, a refuted suspicion about itself or a missed negative answer, -1 for a
  /// good probe.
  void add(int change) { score_ = std::clamp(score_ + change, 0, levels - 1); }
  double scaled(double base) const { return base * (score_ + 1); }

 private:
  int score_ = 0;
};

/// BFD (RFC 5880 section 6.8.4), any unit of time.
double bfd_detection_time(int remote_multiplier, double local_required_receive,
                          double remote_desired_transmit);
/// The sender's gap after jitter (RFC 5880 section 6.8.7): 75 to 100 % of the interval, 75 to 90 %
/// with a multiplier of 1.
struct GapRange {
  double shortest = 0, longest = 0;
};
GapRange bfd_gaps(int multiplier, double interval);

}  // namespace ebbwatch::bench
