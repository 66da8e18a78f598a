// What other watchers hear: a controller that half or more of those that can be asked still hear is
// not lost.
#pragma once

#include <cstdint>
#include <vector>

#include "core/ids.h"
#include "core/site_plan.h"
#include "core/time.h"

namespace ebbwatch {

class Witnesses {
 public:
  /// @param quiet_max a witness of which nothing came for so long is taken as not running.
  /// @param asked whether they are asked, so that it must be known when they said what.
  Witnesses(std::uint32_t witnesses, std::uint32_t controllers, Span quiet_max, bool asked);

  void reachable(WitnessIndex witness, bool reachable, Instant at);
  /// It heard the controller at `when`; it said so at `at`.
  void heard(WitnessIndex witness, ControllerIndex controller, Instant when, Instant at);

  struct Answer {
    std::uint32_t asked = 0;  ///< Witnesses that can be asked and know the controller.
    std::uint32_t hear = 0;   ///< Of those: heard it after `since`.
  };
  /// What they know at `now` of the controller: heard after `since`?
  Answer ask(ControllerIndex controller, Instant since, Instant now) const;
  /// The same of those only that have said something of it since `asked`.
  Answer answers(ControllerIndex controller, Instant since, Instant asked) const;
  /// It answered at `at`, whatever it knows of the controller.
  void said(WitnessIndex witness, ControllerIndex controller, Instant at);
  bool any() const { return count_ > 0; }

 private:
  std::uint32_t count_ = 0;
  std::uint32_t controllers_ = 0;
  Span quiet_max_;
  std::vector<bool> reachable_;
  std::vector<Instant> last_sign_;
  std::vector<Instant> last_heard_;  // by witness, then by controller
  std::vector<Instant> last_said_;   // the same; only where witnesses are asked
};

/// Whether those that hear nothing (this watcher and the silent witnesses) are enough to call it
/// lost: as many as the quorum asks for of all that can be asked, and more than half still hear it
/// never overruled.
bool silence_confirmed(Witnesses::Answer answer, Quorum quorum);

}  // namespace ebbwatch
