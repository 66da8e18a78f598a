// How well each witness has testified: who answered, who agreed with the others, who was proven
// wrong. Pure; in memory only, since the start of the process.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "core/ids.h"
#include "core/time.h"

namespace ebbwatch {

struct Testimonies {
  std::uint32_t answered = 0;  ///< Questions, counted by controller.
  std::uint32_t failed = 0;    ///< Not reached, or not in time.
  std::uint32_t agreed = 0;    ///< With most of those that were asked, this watcher included.
  std::uint32_t disagreed = 0;
  std::uint32_t wrong = 0;  ///< Said that it heard what was off, as the return has shown.
  struct Disagreement {
    Instant at;
    ControllerIndex controller;
    bool hears = false;
  };
  std::vector<Disagreement> newest;  ///< Oldest first, at most disagreements_kept.

  /// Wrong, or alone with its opinion, too often to be relied upon. It is named in `status`; it
  /// goes on being asked.
  bool often_wrong() const;
};

inline constexpr std::size_t disagreements_kept = 10;

class TrackRecord {
 public:
  explicit TrackRecord(std::size_t witnesses) : of_(witnesses) {}

  /// One question about a controller is over. Bits: one for each witness.
  void question_over(ControllerIndex controller, std::uint32_t answered, std::uint32_t hears,
                     std::uint32_t failed, Instant at);
  /// The controller is back, and its words tell whether it was off all the while (`was_off`).
  void returned(ControllerIndex controller, bool was_off);

  const Testimonies& of(WitnessIndex witness) const { return of_[witness.value]; }

 private:
  std::vector<Testimonies> of_;
  std::map<ControllerIndex, std::uint32_t> claims_;  ///< Who said that it hears it.
};

}  // namespace ebbwatch
