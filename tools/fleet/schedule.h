// What happens when in a scenario, worked out ahead of any clock: pure, the same for the same seed.
#pragma once

#include <cstdint>
#include <optional>
#include <queue>
#include <string>
#include <vector>

#include "scenario.h"

namespace ebbwatch::fleet {

/// One line of what happens next.
struct Step {
  enum class Kind {
    check_in,  ///< To be sent now.
    lost,      ///< Sent by the controller, but it does not arrive.
    begins,    ///< A happening begins.
    ends,      ///< A happening ends.
  };
  Kind kind = Kind::check_in;
  Span at;                       ///< Scenario time since the beginning.
  std::uint32_t controller = 0;  ///< Position in Scenario::controllers, for check_in and lost.
  std::uint64_t seq = 0;
  Span uptime;  ///< Scenario time since that controller started.
  bool on_battery = false;
  std::uint32_t happening = 0;  ///< Position in Scenario::happenings, for begins and ends.
};

class Schedule {
 public:
  /// @param scenario must outlive it.
  explicit Schedule(const Scenario& scenario);
  /// Steps in time order (a happening before the check-ins of the same moment); empty at the end.
  std::optional<Step> next();

 private:
  struct Window {
    Span from, until;
  };
  struct Controller {
    std::vector<Window> dark;  ///< Switched off; merged, by time.
    std::vector<Window> mute;  ///< Sends, but nothing arrives.
    std::vector<Window> on_battery;
    std::size_t next_dark = 0;
    std::uint64_t random = 0;
    Span started;
    std::uint64_t seq = 0;  ///< Of the next check-in.
  };
  struct Due {
    Span at;
    std::uint32_t order;  ///< Happenings first, then controllers by position.
    friend bool operator>(const Due& a, const Due& b) {
      return a.at != b.at ? a.at > b.at : a.order > b.order;
    }
  };

  void place_windows();
  void plan(std::uint32_t controller);
  Step step_of(std::uint32_t controller, Span at);
  double draw(Controller& from);

  const Scenario& scenario_;
  std::vector<Controller> controllers_;
  std::vector<Step> turns_;  ///< Beginnings and ends of happenings, by time.
  std::priority_queue<Due, std::vector<Due>, std::greater<>> due_;
};

/// "a mains cut at mill-cottage for 40 s"
std::string words(const Happening& happening);

}  // namespace ebbwatch::fleet
