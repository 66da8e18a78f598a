// Counts lines that say the same again, so that one fault does not fill a disk. Pure.
#pragma once

#include <chrono>
#include <map>
#include <string>
#include <string_view>

namespace ebbwatch {

class Repeats {
 public:
  static constexpr std::chrono::seconds window{60};
  static constexpr std::size_t events_max = 256;  ///< Further events are not counted.

  struct Seen {
    bool hold_back = false;  ///< The same text of this event came less than `window` ago.
    std::uint64_t earlier =
        0;  ///< Held back since it was last printed; to be told before this line.
  };
  /// @param now on any clock that does not run backwards by much.
  Seen see(std::chrono::nanoseconds now, std::string_view event, const std::string& text);

 private:
  struct Last {
    std::string text;
    std::chrono::nanoseconds at{};
    std::uint64_t held_back = 0;
  };
  std::map<std::string, Last, std::less<>> last_;
};

}  // namespace ebbwatch
